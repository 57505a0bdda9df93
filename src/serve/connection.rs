//! The life of connections: accepted, served or turned away, ended.

use super::carrier::{Carrier, busy};
use super::door::Door;
use super::limits;
use axum::body::Body;
use axum::http::header::CONNECTION;
use axum::http::{HeaderValue, Request, Response};
use axum::response::IntoResponse;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use std::convert::Infallible;
use std::future::Future;
use std::pin::pin;
use std::sync::Arc;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, watch};
use tokio::time::{sleep, timeout};

/// Serves until `stop`, then lets what is running end within [`limits::GRACE`].
pub(super) async fn serve(
    listener: TcpListener,
    carrier: Arc<Carrier>,
    stop: impl Future<Output = ()>,
) {
    let open = Arc::new(Semaphore::new(limits::CONNECTIONS + limits::TURNED_AWAY));
    let served = Arc::new(Semaphore::new(limits::CONNECTIONS));
    let (closing, closed) = watch::channel(false);
    let mut stop = pin!(stop);
    loop {
        // Where all places are taken, the next connection waits in the system.
        let place = tokio::select! {
            () = &mut stop => break,
            place = Arc::clone(&open).acquire_owned() => place,
        };
        let stream = tokio::select! {
            () = &mut stop => break,
            accepted = listener.accept() => match accepted {
                Ok((stream, peer)) if Door::may_connect(peer.ip()) => stream,
                Ok(_) => continue,
                Err(_) => {
                    sleep(limits::REST).await;
                    continue;
                }
            },
        };
        let is_served = Arc::clone(&served).try_acquire_owned();
        let (carrier, closed) = (Arc::clone(&carrier), closed.clone());
        tokio::spawn(async move {
            converse(stream, carrier, is_served.is_ok(), closed).await;
            drop((is_served, place));
        });
    }
    drop(listener);
    drop(closed);
    let _ = closing.send(true);
    // Every conversation holds a receiver until it ends.
    let _ = timeout(limits::GRACE, closing.closed()).await;
}

/// Speaks HTTP on one connection until either side ends it.
async fn converse(
    stream: TcpStream,
    carrier: Arc<Carrier>,
    is_served: bool,
    mut closing: watch::Receiver<bool>,
) {
    // Answers are small; waiting for more to send would only delay them.
    let _ = stream.set_nodelay(true);
    let answer = service_fn(move |request: Request<Incoming>| {
        let carrier = Arc::clone(&carrier);
        async move {
            if is_served {
                carrier.answer(request.map(Body::new)).await
            } else {
                Ok::<Response<Body>, Infallible>(turned_away())
            }
        }
    });
    let talk = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(limits::HEAD_TIME)
        .max_headers(limits::HEADERS)
        .max_buf_size(limits::HEAD)
        .serve_connection(TokioIo::new(stream), answer);
    let mut talk = pin!(talk);
    tokio::select! {
        // A client that went away, sent no HTTP or was too slow is no matter of ours.
        _ = talk.as_mut() => return,
        _ = closing.wait_for(|closing| *closing) => {}
        () = sleep(limits::LIFE) => {}
    }
    talk.as_mut().graceful_shutdown();
    let _ = timeout(limits::GRACE, talk).await;
}

fn turned_away() -> Response<Body> {
    let mut response = busy().into_response();
    let close = HeaderValue::from_static("close");
    response.headers_mut().insert(CONNECTION, close);
    response
}
