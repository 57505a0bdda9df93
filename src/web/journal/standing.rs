//! How a system stands: its last reading, the way on from it, its readings over time.

use super::Desk;
use crate::cli::journal::account::account;
use crate::cli::journal::last::{Last, last};
use crate::store::journal::{Entry, Kind, Settings};
use crate::view::svg::timeline::{self, Place};
use crate::view::{chart, journal};
use crate::web::{correct, refill};
use maud::{Markup, html};

/// Readings that a page draws.
const DRAWN: usize = 60;

/// The last reading, large, and where to go from it.
pub fn newest(desk: &Desk<'_>, system: &str, told: &Settings) -> Markup {
    let visit = &desk.visit;
    let Ok(last) = last(&desk.kept, system) else {
        return html! { section.sheet aria-label="last reading" { p { "Nothing was read of " (system) " yet." } } };
    };
    let now = desk.diary.clock().moment();
    let dials = journal::dials(&last.entry.content.reading, told, visit.show.measure);
    html! {
        section.sheet aria-label="last reading" {
            header {
                h2 { (system) }
                p.detail { (last.entry.content.at.minute()) ", " (journal::ago(last.entry.content.at, now)) }
            }
            dl.dials {
                @for dial in dials {
                    div { dt { (dial.name) } dd { strong { (dial.shown) } " " (dial.standing) } }
                }
            }
            @for done in &last.since { p { "Since then: " (done) ". Read the meters again first." } }
            (what_now(desk, &last, told))
            (taken(desk, system))
        }
    }
}

/// The way to the steps that follow from the last reading.
fn what_now(desk: &Desk<'_>, last: &Last, told: &Settings) -> Markup {
    let text = |file: &str| desk.diary.named(file);
    let mut prefilled = correct::prefilled(&desk.visit, told, &last.entry.content.reading, &text);
    if desk.diary.is_writable() {
        prefilled.push(("system", last.system.clone()));
    }
    onward(
        desk,
        correct::PAGE.path,
        &prefilled,
        "What should I do now?",
        true,
    )
}

/// The way to what the plants took, where two readings or more tell it.
fn taken(desk: &Desk<'_>, system: &str) -> Markup {
    let text = |file: &str| desk.diary.named(file);
    let Ok(account) = account(&desk.kept, system, None, &desk.visit.site.library) else {
        return Markup::default();
    };
    let prefilled = refill::prefilled(&desk.visit, &account, &text);
    onward(
        desk,
        refill::PAGE.path,
        &prefilled,
        "What did the plants take, and what to refill?",
        false,
    )
}

/// A way to another page with its fields filled in.
fn onward(
    desk: &Desk<'_>,
    path: &str,
    prefilled: &[(&'static str, String)],
    words: &str,
    is_first: bool,
) -> Markup {
    let visit = &desk.visit;
    let pairs = prefilled.iter().map(|(name, text)| (*name, text.as_str()));
    let address = visit.address(path, &pairs.collect::<Vec<_>>());
    html! {
        @if address.len() <= crate::web::fields::MAX_QUERY {
            p { a.act[is_first] href=(address) { (words) } }
        } @else {
            // Long lists of one's own do not fit an address.
            form method="post" action=(format!("{}{path}", visit.base)) {
                @for (name, text) in prefilled { input type="hidden" name=(name) value=(text); }
                p.buttons { button.plain[!is_first] { (words) } }
            }
        }
    }
}

/// Readings over time.
pub fn drawing(desk: &Desk<'_>, system: &str, of_it: &[&Entry], told: &Settings) -> Markup {
    let is_read = |entry: &&&Entry| entry.content.kind() == Kind::Reading;
    let count = of_it.iter().filter(is_read).count();
    let begin = of_it.iter().rev().filter(is_read).nth(DRAWN - 1);
    let begin = begin.map(|entry| entry.content.at);
    let drawn: Vec<&Entry> = of_it
        .iter()
        .copied()
        .filter(|entry| begin.is_none_or(|begin| entry.content.at >= begin))
        .collect();
    let chart = chart::chart(system, &drawn, told, desk.visit.show.measure);
    html! {
        @if count > 1 && let Some(drawing) = timeline::draw(&chart, Place::Page) {
            section.sheet aria-label="over time" {
                h2 { "Over time" }
                p.hint {
                    "The grey band is the one that is told of the tank; a broken line marks that something was done."
                    @if count > DRAWN { " The last " (DRAWN) " of " (count) " readings are drawn." }
                }
                (drawing)
            }
        }
    }
}
