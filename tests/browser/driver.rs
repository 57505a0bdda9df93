//! A browser and a server for one test: Debian's Chromium, driven by its own driver.

use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use saltwright::serve::{Ask, Server};
use saltwright::store::folder::{Folder, lay_out};
use saltwright::store::journal::{Clock, Diary, Kept};
use saltwright::web::Site;
use serde_json::{Map, Value, json};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use tempfile::TempDir;
use tokio::sync::oneshot;

/// What to do where the browser is missing.
const INSTALL: &str = "\
The browser tests did NOT run: chromedriver was not found. On Debian:
    apt-get install chromium chromium-driver nodejs npm
    npm install --no-package-lock --prefix tests/browser
Elsewhere install Chromium, the ChromeDriver of the same version and Node.js, and put them in PATH.";

/// How the browser is set up.
#[derive(Clone, Copy, Debug)]
pub struct Setup {
    /// Width of the window in CSS pixels.
    pub width: u32,
    /// False: the page's script does not run.
    pub script: bool,
    /// Dark colours.
    pub dark: bool,
    /// Shared under a token.
    pub shared: bool,
}

/// A desk.
pub const DESK: Setup = Setup {
    width: 1280,
    script: true,
    dark: false,
    shared: false,
};
/// A phone.
pub const PHONE: Setup = Setup { width: 360, ..DESK };

/// A browser that looks at a server of its own.
pub struct Browser {
    /// The session.
    pub page: Client,
    /// The address of the front page.
    pub link: String,
    stop: Option<oneshot::Sender<()>>,
    /// The grower's folder that the pages look into, with two invented weeks in its journal.
    folder: TempDir,
    server: tokio::task::JoinHandle<()>,
    driver: Driver,
}

/// A driver that ends with its test.
struct Driver(Child, u16);

impl Drop for Driver {
    fn drop(&mut self) {
        // Asked to shut down, it ends its browsers, too, where a test failed before it did.
        if let Ok(mut stream) = TcpStream::connect(("127.0.0.1", self.1)) {
            let _ = stream.set_read_timeout(Some(Duration::from_secs(5)));
            let _ = stream.write_all(
                b"GET /shutdown HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n",
            );
            let _ = stream.read_to_end(&mut Vec::new());
        }
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

impl Browser {
    /// Starts server, driver and browser.
    pub async fn start(setup: Setup) -> Self {
        let ask = Ask {
            port: 0,
            share: setup
                .shared
                .then(|| "127.0.0.1".parse().expect("an address")),
        };
        let folder = tempfile::tempdir().expect("a folder");
        lay_out(folder.path(), true, &Clock::system()).expect("laid out");
        let own = Folder::find(Some(folder.path())).expect("there");
        let diary = Diary::new(own, true, Clock::system);
        let site = Site::new().expect("the shipped library is sound");
        let server = Server::bind(&ask, site.with_diary(diary)).expect("a free port");
        let link = server.link().to_owned();
        let (stop, stopped) = oneshot::channel();
        let server = tokio::spawn(server.run(async {
            let _ = stopped.await;
        }));
        let driver = driver();
        let page = ClientBuilder::new(HttpConnector::new())
            .capabilities(capabilities(setup))
            .connect(&format!("http://127.0.0.1:{}", driver.1))
            .await
            .expect("a session with Chromium");
        let browser = Self {
            page,
            link,
            stop: Some(stop),
            folder,
            server,
            driver,
        };
        browser.open("").await;
        browser
    }

    /// Opens a path below the front page.
    pub async fn open(&self, path: &str) {
        let address = format!("{}{path}", self.link);
        self.page.goto(&address).await.expect("it opens");
    }

    /// The text of the first element that fits.
    pub async fn text(&self, css: &str) -> String {
        let found = self.page.find(Locator::Css(css)).await;
        found.expect(css).text().await.expect("text")
    }

    /// The address of the page.
    pub async fn address(&self) -> String {
        self.page
            .current_url()
            .await
            .expect("an address")
            .to_string()
    }

    /// The journal that the pages look into, as it stands on the disk.
    pub fn journal(&self) -> Kept {
        Kept::read(&self.folder.path().join("journal.db")).expect("read")
    }

    /// What a script gives back.
    pub async fn run(&self, script: &str) -> Value {
        self.page.execute(script, Vec::new()).await.expect(script)
    }

    /// Fills a field in place of what it holds.
    pub async fn fill(&self, css: &str, text: &str) {
        let field = self.page.find(Locator::Css(css)).await.expect(css);
        field.clear().await.expect("cleared");
        field.send_keys(text).await.expect("typed");
    }

    /// Chooses in a list.
    pub async fn choose(&self, css: &str, value: &str) {
        self.click(&format!("{css} option[value=\"{value}\"]"))
            .await;
    }

    /// Clicks.
    pub async fn click(&self, css: &str) {
        let found = self.page.find(Locator::Css(css)).await.expect(css);
        found.click().await.expect(css);
    }

    /// Waits until an element's text holds some words.
    pub async fn wait_for(&self, css: &str, words: &str) {
        for _ in 0..100 {
            if let Ok(found) = self.page.find(Locator::Css(css)).await
                && found.text().await.is_ok_and(|text| text.contains(words))
            {
                return;
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        panic!("{css} does not say {words:?}:\n{}", self.text("body").await);
    }

    /// Stops the server and leaves the browser open.
    pub async fn stop_server(&mut self) {
        if let Some(stop) = self.stop.take() {
            let _ = stop.send(());
            let _ = (&mut self.server).await;
        }
    }

    /// Ends all.
    pub async fn end(mut self) {
        self.page.clone().close().await.expect("closed");
        self.stop_server().await;
        drop(self.driver);
    }
}

/// Starts a driver on a free port.
fn driver() -> Driver {
    let started = Command::new("chromedriver")
        .arg("--port=0")
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn();
    let mut child = started.unwrap_or_else(|_| panic!("{INSTALL}"));
    let out = child.stdout.take().expect("piped");
    let mut driver = Driver(child, 0);
    let mut lines = BufReader::new(out).lines();
    let said = lines.by_ref().map_while(Result::ok);
    let port = said
        .filter_map(|line| {
            line.split_once("started successfully on port ")
                .map(|(_, p)| p.to_owned())
        })
        .find_map(|port| port.trim_end_matches('.').parse().ok());
    // What it says later is read and thrown away, so that it never waits for a reader.
    std::thread::spawn(move || lines.for_each(drop));
    driver.1 = port.expect("chromedriver says its port");
    driver
}

fn capabilities(setup: Setup) -> Map<String, Value> {
    let scheme = format!(
        "--blink-settings=preferredColorScheme={}",
        u8::from(!setup.dark)
    );
    let size = format!("--window-size={},900", setup.width.max(500));
    let mut options = json!({ "args": [
        "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
        "--disable-background-networking", "--no-first-run", scheme, size,
    ]});
    if setup.width < 1000 {
        // Without script the driver's taps never come back; there it clicks.
        let metrics = json!({
            "width": setup.width, "height": 740, "pixelRatio": 1.0, "touch": setup.script,
        });
        options["mobileEmulation"] = json!({ "deviceMetrics": metrics });
    }
    if !setup.script {
        let block = "profile.managed_default_content_settings.javascript";
        options["prefs"] = json!({ block: 2 });
    }
    let mut capabilities = Map::new();
    capabilities.insert("goog:chromeOptions".into(), options);
    // Milliseconds; far more than anything here takes.
    let patience = json!({ "pageLoad": 20_000, "script": 60_000 });
    capabilities.insert("timeouts".into(), patience);
    capabilities
}
