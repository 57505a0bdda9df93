//! The sheet on paper.

use crate::driver::{Browser, DESK};
use fantoccini::wd::{PrintConfiguration, PrintSize};

/// Pages of a PDF.
fn pages(pdf: &[u8]) -> usize {
    let text = String::from_utf8_lossy(pdf);
    text.matches("/Type /Page\n").count() + text.matches("/Type /Page/").count()
}

#[tokio::test]
async fn an_answer_is_printed_on_two_pages_and_without_its_form() {
    let browser = Browser::start(DESK).await;
    for (path, most) in [
        ("", 2),
        ("predict", 2),
        ("recipes?show=hoagland-2", 4),
        ("how", 2),
        ("stock", 2),
        ("label", 2),
    ] {
        browser.open(path).await;
        let pdf = browser
            .page
            .print(PrintConfiguration::default())
            .await
            .expect("printed");
        assert!(pdf.starts_with(b"%PDF"), "{path}");
        let count = pages(&pdf);
        assert!((1..=most).contains(&count), "{path}: {count} pages");
    }
    // The rules for paper are the page's own: what they hide is what is asked, not what is answered.
    let script = "const rules = [...document.styleSheets[0].cssRules].find(r => r.conditionText === 'print');
      const hidden = [...rules.cssRules].filter(r => r.style?.display === 'none').map(r => r.selectorText).join(', ');
      return ['nav', 'form', '#answer h2', '#answer table', '#answer .heed', '#answer svg']
        .map(css => document.querySelector(css).closest(hidden) !== null)";
    browser.open("").await;
    let hidden = browser.run(script).await;
    assert_eq!(
        hidden,
        serde_json::json!([true, true, false, false, false, false])
    );
    browser.end().await;
}

/// Tanks that need a premix, acid and a caution at a step.
const WEIGHED: &str = "stock?mix=calcium-nitrate-fertilizer+0.41%0Apotassium-nitrate+0.53%0A\
    magnesium-sulfate-heptahydrate+0.22%0Aboric-acid+0.0009%0Anitric-acid-38+0.1+mL&ratio=100&\
    volume=20&scale=0.1&batch=June";

#[tokio::test]
async fn the_sheet_by_the_scale_is_printed_on_a4_and_letter() {
    let browser = Browser::start(DESK).await;
    for (paper, most) in [("weigh", 2), ("labels", 2)] {
        browser.open(&format!("{WEIGHED}&paper={paper}")).await;
        for size in [PrintSize::A4, PrintSize::US_LETTER] {
            let setup = PrintConfiguration::builder().size(size).build();
            let pdf = browser.page.print(setup.expect("a setup")).await;
            let count = pages(&pdf.expect("printed"));
            assert!((1..=most).contains(&count), "{paper}: {count} pages");
        }
    }
    // A box is ticked on the screen as well as by hand, and stays drawn on paper.
    browser.open(&format!("{WEIGHED}&paper=weigh")).await;
    browser.click(".ticks input").await;
    let ticked = "return document.querySelectorAll('.ticks input:checked').length";
    assert_eq!(browser.run(ticked).await, 1);
    browser.end().await;
}
