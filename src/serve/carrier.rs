//! One request in, one response out.

use super::door::{Door, Way};
use super::limits;
use crate::web::api::{self, problem};
use crate::web::frame::asset;
use crate::web::{Asked, Document, Fields, Method, Site};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::{Path, Request, State};
use axum::http::header::{
    ALLOW, CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_LENGTH, CONTENT_TYPE, HeaderName,
    HeaderValue, LOCATION, RETRY_AFTER,
};
use axum::http::{self, HeaderMap, Response, StatusCode, Uri};
use axum::response::IntoResponse;
use axum::routing::{get, post};
use std::convert::Infallible;
use std::sync::Arc;
use std::time::Instant;
use tokio::sync::Semaphore;
use tokio::time::timeout;
use tower_service::Service;

/// Headers of every response: nothing from elsewhere, nothing framed, nothing guessed.
const ALWAYS: [(&str, &str); 5] = [
    (
        "content-security-policy",
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; \
         connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    (
        "permissions-policy",
        "camera=(), geolocation=(), microphone=()",
    ),
];

/// What every request needs.
pub struct Carrier {
    pub(super) door: Door,
    router: Router,
}

struct Inner {
    site: Site,
    base: String,
    questions: Arc<Semaphore>,
    large_bodies: Semaphore,
}

type Shared = State<Arc<Inner>>;

impl Carrier {
    pub(super) fn new(site: Site, door: Door) -> Self {
        let inner = Arc::new(Inner {
            site,
            base: door.base().to_owned(),
            questions: Arc::new(Semaphore::new(limits::QUESTIONS)),
            large_bodies: Semaphore::new(limits::LARGE_BODIES),
        });
        let router = Router::new()
            .route("/api", get(describe))
            .route("/api/{job}", post(job))
            .method_not_allowed_fallback(wrong_method)
            .fallback(page)
            .with_state(inner);
        Self { door, router }
    }

    /// Answers one request.
    pub(super) async fn answer(
        &self,
        request: http::Request<Body>,
    ) -> Result<Response<Body>, Infallible> {
        let (mut parts, body) = request.into_parts();
        let way = self.door.admit(&parts.method, &parts.uri, &parts.headers);
        let path = match way {
            Ok(Way::In(path)) => path,
            Ok(Way::Base) => {
                let base = self.door.base().to_owned();
                return Ok(Document::elsewhere(base).into_response());
            }
            Err(document) => return Ok(document.into_response()),
        };
        let query = parts.uri.query().map(|query| format!("?{query}"));
        let Ok(uri) = format!("{path}{}", query.unwrap_or_default()).parse::<Uri>() else {
            return Ok(problem::document(400, "This address cannot be read.").into_response());
        };
        parts.uri = uri;
        // A clone of a router shares its routes.
        let mut router = self.router.clone();
        router.call(Request::from_parts(parts, body)).await
    }
}

impl Inner {
    /// Works something out on a thread of its own; where too many ask, they are told to come back.
    async fn work(
        self: &Arc<Self>,
        act: impl FnOnce(&Site) -> Document + Send + 'static,
    ) -> Document {
        let Ok(permit) = Arc::clone(&self.questions).try_acquire_owned() else {
            return busy();
        };
        let inner = Arc::clone(self);
        let working = tokio::task::spawn_blocking(move || {
            let document = act(&inner.site);
            drop(permit);
            document
        });
        match timeout(limits::WORK_TIME, working).await {
            Ok(Ok(document)) => document,
            Ok(Err(_)) => problem::document(500, "This question broke the program. Ask another."),
            Err(_) => busy(),
        }
    }

    /// The body of a request, within its limits of size and time.
    async fn body(
        &self,
        headers: &HeaderMap,
        body: Body,
        most: usize,
    ) -> Result<Vec<u8>, Document> {
        let too_large = || {
            let detail = format!("Send at most {} KiB.", most / 1024);
            problem::document(413, &detail)
        };
        let length = headers
            .get(CONTENT_LENGTH)
            .and_then(|length| length.to_str().ok());
        let length = length.and_then(|length| length.parse::<usize>().ok());
        if length.is_some_and(|length| length > most) {
            return Err(too_large());
        }
        let is_small = length.is_some_and(|length| length <= limits::SMALL_BODY);
        let leave = self.large_bodies.try_acquire();
        if !is_small && leave.is_err() {
            return Err(busy());
        }
        let leave = leave.ok().filter(|_| !is_small);
        let read = timeout(limits::BODY_TIME, to_bytes(body, most)).await;
        drop(leave);
        match read {
            Ok(Ok(bytes)) => Ok(bytes.into()),
            Ok(Err(_)) => Err(too_large()),
            Err(_) => Err(problem::document(
                408,
                "The request did not arrive in time.",
            )),
        }
    }
}

/// Too many at once.
pub fn busy() -> Document {
    Document {
        retry_after: Some(limits::RETRY_AFTER),
        ..problem::document(503, "Too many ask at once. Come back in a second.")
    }
}

async fn describe(State(inner): Shared) -> Document {
    let base = inner.base.clone();
    inner
        .work(move |site| api::describe::document(&base, &site.library))
        .await
}

async fn job(
    State(inner): Shared,
    Path(job): Path<String>,
    headers: HeaderMap,
    body: Body,
) -> Document {
    if !is(&headers, "application/json") {
        let detail = "Send the request as \"Content-Type: application/json\".";
        return problem::document(415, detail);
    }
    match inner.body(&headers, body, limits::REQUEST).await {
        Err(document) => document,
        Ok(bytes) => match String::from_utf8(bytes) {
            Err(_) => api::unreadable(),
            Ok(text) => {
                inner
                    .work(move |site| {
                        let begun = Instant::now();
                        let mut goes_on = |_: &_| begun.elapsed() < limits::SEARCH_TIME;
                        api::answer_while(&job, &text, &site.library, &mut goes_on)
                    })
                    .await
            }
        },
    }
}

async fn page(State(inner): Shared, request: Request) -> Document {
    let (parts, body) = request.into_parts();
    let path = parts.uri.path().trim_start_matches('/').to_owned();
    let (method, fields) = match parts.method {
        http::Method::GET | http::Method::HEAD => {
            let query = parts.uri.query().unwrap_or_default();
            (Method::Get, Fields::read(query.as_bytes()))
        }
        http::Method::POST => {
            if !is(&parts.headers, "application/x-www-form-urlencoded") {
                return problem::document(415, "Send the form as a browser does.");
            }
            match inner.body(&parts.headers, body, limits::FORM).await {
                Ok(bytes) => (Method::Post, Fields::read(&bytes)),
                Err(document) => return document,
            }
        }
        _ => return Document::wrong_method("GET, HEAD, POST"),
    };
    if method == Method::Get
        && let Some(asset) = asset(&path)
    {
        return asset;
    }
    let asked = Asked {
        method,
        base: inner.base.clone(),
        path,
        fields,
    };
    inner.work(move |site| site.answer(&asked)).await
}

async fn wrong_method(uri: Uri) -> Document {
    let is_description = uri.path() == "/api";
    Document::wrong_method(if is_description { "GET, HEAD" } else { "POST" })
}

/// True for a body of that media type, whatever its parameters.
fn is(headers: &HeaderMap, media: &str) -> bool {
    let named = headers
        .get(CONTENT_TYPE)
        .and_then(|named| named.to_str().ok());
    let bare = named.and_then(|named| named.split(';').next());
    bare.is_some_and(|bare| bare.trim().eq_ignore_ascii_case(media))
}

impl IntoResponse for Document {
    fn into_response(self) -> Response<Body> {
        let mut response = Response::new(Body::from(self.text));
        *response.status_mut() =
            StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let headers = response.headers_mut();
        let mut set = |name: HeaderName, value: &str| {
            // What is no header value is left out rather than sent broken.
            if let Ok(value) = HeaderValue::from_str(value) {
                headers.insert(name, value);
            }
        };
        for (name, value) in ALWAYS {
            set(HeaderName::from_static(name), value);
        }
        set(CONTENT_TYPE, self.media.name());
        let lasting = "private, max-age=31536000, immutable";
        set(
            CACHE_CONTROL,
            if self.lasting { lasting } else { "no-cache" },
        );
        if let Some(address) = &self.location {
            set(LOCATION, address);
        }
        if let Some(allow) = self.allow {
            set(ALLOW, allow);
        }
        if let Some(file) = &self.file {
            set(
                CONTENT_DISPOSITION,
                &format!("attachment; filename=\"{file}\""),
            );
        }
        if let Some(seconds) = self.retry_after {
            set(RETRY_AFTER, &seconds.to_string());
        }
        response
    }
}
