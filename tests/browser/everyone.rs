//! Use by everyone: the rules of WCAG 2.2 AA that a program can check, on every page; keyboard
//! alone; small and large screens.

use crate::driver::{Browser, DESK, PHONE, Setup};
use fantoccini::Locator;
use fantoccini::key::Key;
use serde_json::Value;
use std::path::Path;

/// Every page in every state that looks different.
const PATHS: [&str; 38] = [
    "",
    "formulate?recipe=sonneveld-modified-lettuce&water=larch-hollow-spring&tank=120+L&prices=demo&ratio=100",
    "formulate?recipe=sonneveld-modified-lettuce&water=quarry-end-well&aim-Ca=..50&measure=us&units=meq",
    "formulate?recipe=own&own-recipe=%5Baims%5D%0AKK+%3D+1&tank=abc&strength=-1&watr=1",
    "predict",
    "water",
    "label",
    "label?label=15-5-15%0ACa+4&found=N+14%0AK2O+15&dissolve=1&reads=1.4&dose=1&recipe=hoagland-2&water=rain-barrel&prices=demo",
    "label?label=15-5-15+%2B+4Caa&reads=1.4&tank=20",
    "stock",
    "stock?mix=potassium-nitrate+0.5%0Amagnesium-sulfate-heptahydrate+0.2%0Aboric-acid+0.0009%0Anitric-acid-38+0.1mL&ratio=100&volume=20&scale=0.1&paper=weigh",
    "stock?mix=potassium-nitrate+0.5%0Amagnesium-sulfate-heptahydrate+0.2%0Anitric-acid-38+0.1mL&ratio=100&paper=labels",
    "stock?mix=potassium-nitrate+0.5&ratio=0&weighed=urea+9&volume=much&paper=weigh",
    "substitute?recipe=sonneveld-modified-lettuce&water=larch-hollow-spring&prices=demo&currency=EUR&now=calcium-nitrate-tetrahydrate+0.5%0Apotassium-nitrate+0.5%0Amagnesium-sulfate-heptahydrate+0.2%0Amonopotassium-phosphate+0.13%0Afe-dtpa-11+0.01%0Aboric-acid+0.0009%0Amanganese-sulfate-monohydrate+0.0008%0Azinc-sulfate-monohydrate+0.0004%0Acopper-sulfate-pentahydrate+0.0001%0Asodium-molybdate-dihydrate+0.00006",
    "substitute?recipe=hoagland-2&now=urea&keep=aims",
    "formulate?detail=all",
    "predict?mix=uria+1",
    "purchase",
    "purchase?recipe=hoagland-2&season=-3&bags=own",
    "correct",
    "correct?reading=650+ppm&ph=0.5&level=500&tank=120&recipe=hoagland-2&bottle-ml=5",
    "refill",
    "refill?recipe=hoagland-2&own-readings=at%2Clitres%2Cec_ms_cm%0Ayesterday%2C1%2C1",
    "meter",
    "meter?checks=1.413&reading=25+bar",
    "journal",
    "journal?noted=24&skip=20&drained=5&measure=us",
    "journal?entry=26",
    "journal?system=kettle+rom",
    "recipes",
    "recipes?show=hoagland-2",
    "recipes?own-recipe=%5Baims%5D%0AK+%3D+1",
    "waters?show=quarry-end-well",
    "fertilizers",
    "fertilizers?show=nitric-acid-38&find=nitric",
    "crops",
    "how",
    "no-such-page",
];

/// The rules, run on the page that is open.
const RULES: &str = "const done = arguments[arguments.length - 1];
axe.run({ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] })
  .then(found => done(found.violations.map(rule =>
    rule.id + ': ' + rule.nodes.map(node => node.html.slice(0, 150)).join(' | '))));";

pub fn axe() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("node_modules/axe-core/axe.min.js");
    std::fs::read_to_string(path).unwrap_or_else(|_| {
        panic!(
            "The accessibility rules did NOT run: axe-core is missing. Install Node.js and run\n    \
             npm install --no-package-lock --prefix tests/browser"
        )
    })
}

async fn rules(setup: Setup) {
    let axe = axe();
    let browser = Browser::start(setup).await;
    let scheme = "return matchMedia('(prefers-color-scheme: dark)').matches";
    assert_eq!(browser.run(scheme).await, setup.dark);
    for path in PATHS {
        browser.open(path).await;
        holds(&browser, &axe, path, setup.width).await;
    }
    browser.end().await;
}

/// The rules hold on the page that is open, and nothing on it is cut or reaches sideways.
pub async fn holds(browser: &Browser, axe: &str, path: &str, width: u32) {
    // What is folded away is looked at, too.
    browser
        .run("document.querySelectorAll('details').forEach(d => d.open = true)")
        .await;
    browser.run(axe).await;
    let found = browser
        .page
        .execute_async(RULES, Vec::new())
        .await
        .expect("the rules run");
    assert_eq!(found, Value::Array(Vec::new()), "{path}");
    let script =
        "return document.documentElement.scrollWidth - document.documentElement.clientWidth";
    assert_eq!(
        browser.run(script).await,
        0,
        "{path} scrolls sideways at {width}"
    );
    let cut = browser.run(CUT).await;
    assert_eq!(
        cut,
        Value::Array(Vec::new()),
        "{path}: cut or outside at {width}"
    );
}

/// Elements whose text is cut off or that reach beyond the screen.
const CUT: &str = "const wide = document.documentElement.clientWidth;
return [...document.querySelectorAll('main *, header *, footer *')].filter(e => {
  const box = e.getBoundingClientRect(), style = getComputedStyle(e);
  if (!box.width || e.closest('.vh, .skip, thead, svg, option, textarea, select')) return false;
  const cut = style.overflowX !== 'visible' && e.scrollWidth > e.clientWidth + 1;
  return cut && !e.matches('input') || box.right > wide + 1 || box.left < -1;
}).map(e => e.outerHTML.slice(0, 150));";

#[tokio::test]
async fn rules_on_a_phone_in_the_light() {
    rules(PHONE).await;
}

#[tokio::test]
async fn rules_on_a_phone_in_the_dark() {
    rules(Setup {
        dark: true,
        ..PHONE
    })
    .await;
}

#[tokio::test]
async fn rules_at_a_desk_in_the_light() {
    rules(DESK).await;
}

#[tokio::test]
async fn rules_at_a_desk_in_the_dark() {
    rules(Setup { dark: true, ..DESK }).await;
}

/// A desk at a zoom of 200 % is 640 pixels wide, at 400 % 320 (WCAG 2.2, 1.4.4 and 1.4.10).
#[tokio::test]
async fn rules_at_a_zoom_of_200_and_400_percent() {
    for width in [640, 320] {
        rules(Setup { width, ..DESK }).await;
    }
}

/// What is touched is at least 44 pixels high; links within sentences are not meant.
#[tokio::test]
async fn what_is_touched_is_large_enough() {
    let script = "return [...document.querySelectorAll(
      'nav a, .name a, .onward a, tbody th a, button, select, summary, textarea, input:not([type=hidden]):not([type=checkbox]), fieldset label')]
      .filter(e => e.getBoundingClientRect().height < 43.9 && e.getClientRects().length)
      .map(e => e.outerHTML.slice(0, 120))";
    let browser = Browser::start(PHONE).await;
    for path in PATHS {
        browser.open(path).await;
        browser
            .run("document.querySelectorAll('details').forEach(d => d.open = true)")
            .await;
        assert_eq!(
            browser.run(script).await,
            Value::Array(Vec::new()),
            "{path}"
        );
    }
    browser.end().await;
}

/// On a phone the first grams are seen after scrolling by one screen.
#[tokio::test]
async fn the_answer_is_within_one_scroll() {
    let browser = Browser::start(PHONE).await;
    let script = "return document.querySelector('#answer tbody tr:nth-child(4)').getBoundingClientRect().bottom / innerHeight";
    let screens = browser.run(script).await.as_f64().expect("a number");
    assert!(screens <= 2.0, "{screens} screens");
    browser.end().await;
}

async fn press(browser: &Browser, keys: &str) {
    let focused = browser.page.active_element().await.expect("focus");
    focused.send_keys(keys).await.expect("typed");
}

/// The id, or else the text, of what has the focus; it must be seen to have it.
async fn focused(browser: &Browser) -> String {
    let script = "const e = document.activeElement, s = getComputedStyle(e);
      return [e.id || e.textContent.trim(), e === document.body || s.outlineStyle !== 'none']";
    let found = browser.run(script).await;
    assert_eq!(found[1], true, "the focus of {} is not seen", found[0]);
    found[0].as_str().expect("text").to_owned()
}

#[tokio::test]
async fn by_keyboard_alone() {
    let browser = Browser::start(DESK).await;
    let tab = String::from(char::from(Key::Tab));
    let enter = String::from(char::from(Key::Enter));
    press(&browser, &tab).await;
    assert_eq!(focused(&browser).await, "To the answer");
    let mut seen = Vec::new();
    loop {
        press(&browser, &tab).await;
        let now = focused(&browser).await;
        if now == "tank" || seen.len() > 40 {
            break;
        }
        seen.push(now);
    }
    assert_eq!(seen.last().map(String::as_str), Some("water"), "{seen:?}");
    assert!(seen.contains(&"recipe".to_owned()), "{seen:?}");
    let all = format!("{}a{}", char::from(Key::Control), char::from(Key::Null));
    press(&browser, &format!("{all}90 L")).await;
    press(&browser, &enter).await;
    browser
        .wait_for("#answer .detail", "90 L of finished solution")
        .await;
    // A folded group opens, and its first field takes a figure.
    for _ in 0..9 {
        if focused(&browser).await == "Change an aim" {
            break;
        }
        press(&browser, &tab).await;
    }
    assert_eq!(focused(&browser).await, "Change an aim");
    press(&browser, &enter).await;
    press(&browser, &tab).await;
    assert_eq!(focused(&browser).await, "aim-NO3-N");
    press(&browser, "120").await;
    browser.wait_for("#answer h2", "with NO3-N=120").await;
    assert_eq!(
        focused(&browser).await,
        "aim-NO3-N",
        "the focus stays while typing"
    );
    // No trap: the last link of the answer is reached.
    for _ in 0..80 {
        if focused(&browser).await == "Exact figures as JSON" {
            let found = browser.page.find(Locator::Css(".onward")).await;
            assert!(found.is_ok());
            browser.end().await;
            return;
        }
        press(&browser, &tab).await;
    }
    panic!("the end of the answer is not reached by keyboard");
}
