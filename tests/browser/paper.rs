//! The sheet on paper.

use crate::driver::{Browser, DESK};
use fantoccini::wd::PrintConfiguration;

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
