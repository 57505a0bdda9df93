//! The journal, kept by the tank: a phone, one thumb.

use crate::driver::{Browser, PHONE, Setup};

const SUBMIT: &str = "form:has(#ec) button";

/// Types a reading and sends it; how many figures the chart of the EC has afterwards.
async fn read_meters(setup: Setup) {
    let browser = Browser::start(setup).await;
    browser.open("journal").await;
    let dots = "return document.querySelectorAll('.timeline .dot').length";
    let before = browser.run(dots).await.as_u64().expect("a count");
    browser.fill("#ec", "725").await;
    browser.choose("#ec-in", "500").await;
    browser.fill("#ph", "5.95").await;
    browser.fill("#level", "111").await;
    browser.fill("#note", "roots white").await;
    browser.click(SUBMIT).await;
    browser.wait_for(".noted", "EC 1.45 mS/cm").await;
    // Loaded again, it notes nothing again.
    browser.page.refresh().await.expect("loaded again");
    let entries = browser.journal().entries();
    assert_eq!(entries.len(), 36);
    let newest = &entries[35].content;
    assert_eq!(newest.reading.ec_ms_cm, Some(1.45));
    assert_eq!(newest.details.note, "roots white");
    let first = browser.text(".log tbody tr").await;
    for said in ["36", "1.45", "111", "roots white"] {
        assert!(first.contains(said), "{first}");
    }
    // EC, pH and level; no temperature was typed.
    assert_eq!(browser.run(dots).await.as_u64(), Some(before + 3));
    browser.end().await;
}

#[tokio::test]
async fn a_reading_is_typed_and_seen_in_list_and_chart() {
    read_meters(PHONE).await;
}

#[tokio::test]
async fn without_script_just_so() {
    read_meters(Setup {
        script: false,
        ..PHONE
    })
    .await;
}

#[tokio::test]
async fn a_slip_is_seen_mended_and_taken_back() {
    let browser = Browser::start(PHONE).await;
    browser.open("journal").await;
    browser.fill("#ec", "14").await;
    browser.fill("#ph", "59").await;
    browser.click(SUBMIT).await;
    browser.wait_for("#answer", "Nothing was noted").await;
    let typed = "return document.querySelector('#ph').value";
    assert_eq!(browser.run(typed).await, "59");
    browser.fill("#ph", "5.9").await;
    browser.click(SUBMIT).await;
    browser.wait_for(".noted", "EC 14.00").await;
    browser.click(".log tbody th a").await;
    browser.wait_for("main", "Mend this entry").await;
    browser.fill("#ec", "1.4").await;
    browser.click("form:has(#ec) button").await;
    browser.wait_for("table", "EC 14.00").await;
    browser.wait_for("table", "EC 1.40").await;
    browser.click("main .onward a").await;
    browser.wait_for(".dials", "1.40").await;
    browser.click("button.plain").await;
    browser.wait_for("main", "Entry 36").await;
    let entries = browser.journal().entries();
    assert_eq!(entries[35].content.reading.ec_ms_cm, Some(14.0));
    browser.end().await;
}

#[tokio::test]
async fn the_last_reading_leads_to_what_to_do() {
    let browser = Browser::start(PHONE).await;
    browser.open("journal").await;
    browser.fill("#ec", "1.9").await;
    browser.fill("#ph", "6.9").await;
    browser.fill("#level", "110").await;
    browser.click(SUBMIT).await;
    browser.wait_for(".noted", "EC 1.90").await;
    browser.click("a.act").await;
    browser.wait_for("#answer", "nitric-acid-38").await;
    let typed = "return document.querySelector('#reading').value";
    assert_eq!(browser.run(typed).await, "1.9");
    browser.end().await;
}

#[tokio::test]
async fn what_was_done_is_typed_below() {
    let browser = Browser::start(PHONE).await;
    browser.open("journal").await;
    browser.click("details:has(#added) summary").await;
    browser.fill("#drained", "5").await;
    browser
        .fill("#added", "larch-hollow-spring 10 L\nnitric-acid-38 9 mL")
        .await;
    browser.click("form:has(#added) button").await;
    browser
        .wait_for(".noted", "drained 5 L; added 10 L of")
        .await;
    let done = &browser.journal().entries()[35].content.details.done;
    assert_eq!(done.len(), 3, "{done:?}");
    browser.end().await;
}
