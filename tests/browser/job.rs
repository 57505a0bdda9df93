//! The main job, done as a grower does it.

use crate::driver::{Browser, DESK, PHONE, Setup};
use saltwright::web::{Asked, Fields, Method, Site};

/// The title of the answer that the pages give to a question without any browser.
fn title(query: &str) -> String {
    let site = Site::new().expect("sound");
    let asked = Asked {
        method: Method::Get,
        base: "/".into(),
        path: "formulate".into(),
        fields: Fields::read(query.as_bytes()),
    };
    let text = site.answer(&asked).text;
    let (_, rest) = text.split_once("<h2>").expect("a title");
    rest.split_once("</h2>").expect("its end").0.to_owned()
}

/// The batch of the first fertilizer: `64.2 g`.
const FIRST: &str = "#answer tbody td:nth-child(2)";

/// Twice the tank, twice the grams, to the digits that are shown.
fn is_twice(one: &str, two: &str) -> bool {
    let grams = |text: &str| {
        text.split_whitespace()
            .next()
            .and_then(|n| n.parse::<f64>().ok())
    };
    let (one, two) = (grams(one).expect(one), grams(two).expect(two));
    (two / one - 2.0).abs() < 0.01
}

async fn figure(browser: &Browser) -> String {
    let text = browser.text(FIRST).await;
    text.replace("120 L", "")
        .replace("240 L", "")
        .trim()
        .to_owned()
}

async fn with_script(setup: Setup) {
    let browser = Browser::start(setup).await;
    let before = figure(&browser).await;
    browser.run("window.sameDocument = true").await;
    browser.fill("#tank", "240 L").await;
    browser.wait_for("#answer .detail", "240 L").await;
    let after = figure(&browser).await;
    assert!(is_twice(&before, &after), "{before} {after}");
    browser.choose("#recipe", "hoagland-2").await;
    browser.choose("#water", "quarry-end-well").await;
    browser.wait_for("#answer h2", "Quarry End").await;
    let query = "recipe=hoagland-2&water=quarry-end-well&tank=240+L";
    assert_eq!(browser.text("#answer h2").await, title(query));
    assert!(
        browser.address().await.ends_with(query),
        "{}",
        browser.address().await
    );
    assert_eq!(
        browser.run("return window.sameDocument").await,
        true,
        "no page was loaded"
    );
    // A figure that is none is said beside its field and goes away again.
    browser.fill("#tank", "many").await;
    browser.wait_for("#tank-fault", "is not a number").await;
    assert_eq!(
        browser
            .run("return document.getElementById('tank').ariaInvalid")
            .await,
        "true"
    );
    assert_eq!(
        browser.run("return document.activeElement.id").await,
        "tank"
    );
    browser.fill("#tank", "240,5").await;
    browser.wait_for("#answer .detail", "240.5 L").await;
    let gone = "return !document.getElementById('tank-fault')";
    assert_eq!(browser.run(gone).await, true);
    // The figures that a recipe asks for show in the fields of its aims.
    assert_eq!(
        browser
            .run("return document.getElementById('aim-K').placeholder")
            .await,
        "234.6"
    );
    // Opened again, the address asks the same.
    let address = browser.address().await;
    let shown = browser.text("#answer").await;
    browser.page.goto(&address).await.expect("it opens");
    assert_eq!(browser.text("#answer").await, shown);
    browser.end().await;
}

#[tokio::test]
async fn by_typing_at_a_desk() {
    with_script(DESK).await;
}

#[tokio::test]
async fn by_typing_on_a_phone() {
    with_script(PHONE).await;
}

async fn without_script(setup: Setup) {
    let browser = Browser::start(Setup {
        script: false,
        ..setup
    })
    .await;
    let before = figure(&browser).await;
    browser.fill("#tank", "240 L").await;
    browser.choose("#measure", "us").await;
    browser.choose("#measure", "").await;
    assert_eq!(figure(&browser).await, before, "no script runs");
    browser.click("form button").await;
    browser.wait_for("#answer .detail", "240 L").await;
    assert!(is_twice(&before, &figure(&browser).await));
    let query = "recipe=sonneveld-modified-lettuce&water=larch-hollow-spring&tank=240+L";
    let address = browser.address().await;
    assert!(
        address.contains(&format!("formulate?{query}")),
        "blanks are left out: {address}"
    );
    // A refusal, and a way from it to its field.
    browser.fill("#tank", "many").await;
    browser.click("form button").await;
    browser
        .wait_for("#answer [role=alert]", "is not a number")
        .await;
    assert_eq!(browser.text("#answer [role=alert] a").await, "Tank");
    // What is too long for an address is sent, and what is short becomes one.
    browser.open("predict").await;
    browser.fill("#mix", "urea 0.5\nborax 0.01").await;
    browser.click("form button[formmethod=post]").await;
    browser.wait_for("#answer h2", "2 fertilizers").await;
    assert!(
        browser.address().await.contains("predict?mix=urea"),
        "{}",
        browser.address().await
    );
    // One's own recipe: checked, then used.
    browser.open("recipes").await;
    browser
        .fill("#own-recipe", "name = \"Mine\"\n[aims]\nK = 200\n")
        .await;
    browser.click("#own button").await;
    browser.wait_for("#answer h2", "Mine").await;
    browser.click("#answer button").await;
    browser.wait_for("#answer h2", "Mine in pure water").await;
    browser.end().await;
}

#[tokio::test]
async fn without_script_at_a_desk() {
    without_script(DESK).await;
}

#[tokio::test]
async fn without_script_on_a_phone() {
    without_script(PHONE).await;
}

#[tokio::test]
async fn under_a_shared_link() {
    let browser = Browser::start(Setup {
        shared: true,
        ..PHONE
    })
    .await;
    browser.fill("#tank", "240 L").await;
    browser.wait_for("#answer .detail", "240 L").await;
    assert!(
        browser.address().await.starts_with(&browser.link),
        "{}",
        browser.address().await
    );
    browser.click("nav summary").await;
    browser.click("nav a[href$=recipes]").await;
    browser.wait_for("h1", "Recipes").await;
    assert!(browser.address().await.starts_with(&browser.link));
    browser.end().await;
}

/// Where the server is gone, the page says so and keeps the last answer.
#[tokio::test]
async fn a_lost_connection_is_said() {
    let mut browser = Browser::start(DESK).await;
    let shown = browser.text("#answer h2").await;
    browser.stop_server().await;
    browser.fill("#tank", "240 L").await;
    browser.wait_for("#said", "No connection").await;
    assert_eq!(browser.text("#answer h2").await, shown);
    browser.end().await;
}

/// Nothing is fetched from elsewhere.
#[tokio::test]
async fn nothing_comes_from_elsewhere() {
    let browser = Browser::start(DESK).await;
    browser.fill("#tank", "240 L").await;
    browser.wait_for("#answer .detail", "240 L").await;
    let script = "return performance.getEntriesByType('resource').map(e => e.name)";
    let names = browser.run(script).await;
    let names = names.as_array().expect("names");
    assert!(names.len() >= 3, "{names:?}");
    for name in names {
        assert!(
            name.as_str()
                .is_some_and(|name| name.starts_with(&browser.link)),
            "{name}"
        );
    }
    browser.end().await;
}
