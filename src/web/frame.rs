//! What stands around every page: head, menu, foot, style sheet and script.

use super::document::{Document, Media};
use super::{PAGES, Visit, journal};
use maud::{DOCTYPE, Markup, html};

/// The style sheet.
pub const STYLE: &str = include_str!("assets/sheet.css");
/// What the page of the journal needs beside it.
pub const JOURNAL_STYLE: &str = include_str!("assets/journal.css");
/// The script: swaps the answer while a question is typed.
pub const SCRIPT: &str = include_str!("assets/swap.js");
/// The mark of the page.
const ICON: &str = include_str!("assets/icon.svg");

/// A page that explains.
pub struct TextPage {
    /// Its path.
    pub path: &'static str,
    /// Its name in the menu.
    pub name: &'static str,
    /// What stands on it.
    pub text: fn(&Visit<'_>) -> Markup,
}

impl TextPage {
    /// Shows it.
    pub fn answer(&self, visit: &Visit<'_>) -> Document {
        let main = html! { article.sheet { ((self.text)(visit)) } };
        Document::page(200, frame(self.name, self.path, visit, &main))
    }
}

/// Style sheets, script and mark.
pub fn asset(path: &str) -> Option<Document> {
    let (media, text) = match path {
        "sheet.css" => (Media::Css, STYLE),
        "journal.css" => (Media::Css, JOURNAL_STYLE),
        "swap.js" => (Media::Script, SCRIPT),
        "icon.svg" => (Media::Svg, ICON),
        _ => return None,
    };
    Some(Document {
        lasting: true,
        ..Document::new(media, text)
    })
}

/// A whole page around its main part.
pub fn frame(title: &str, path: &str, visit: &Visit<'_>, main: &Markup) -> Markup {
    let asset = |name: &str| format!("{}{name}?{}", visit.base, visit.site.version);
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " – Saltwright" }
                link rel="icon" href=(asset("icon.svg"));
                link rel="stylesheet" href=(asset("sheet.css"));
                @if path == journal::PATH { link rel="stylesheet" href=(asset("journal.css")); }
                script src=(asset("swap.js")) defer {}
            }
            body {
                a.skip href="#main" { "To the answer" }
                header.top {
                    p.name { a href=(visit.address("", &[])) { "Saltwright" } }
                    (menu(path, visit))
                }
                main id="main" tabindex="-1" { (main) }
                footer {
                    p {
                        "Worked out on this machine; nothing is fetched or sent elsewhere. "
                        (saltwright_solver::words::DEFER)
                    }
                }
            }
        }
    }
}

/// The menu: what is done day by day stands open, what is looked up is folded away beside it.
fn menu(path: &str, visit: &Visit<'_>) -> Markup {
    let pages = |looked_up: bool| {
        let pages = PAGES
            .iter()
            .filter(move |page| page.is_looked_up() == looked_up);
        html! {
            @for page in pages {
                li {
                    a href=(visit.address(page.path(), &[]))
                        aria-current=[(page.path() == path).then_some("page")] {
                        (page.name())
                    }
                }
            }
        }
    };
    let is_here = PAGES
        .iter()
        .any(|page| page.is_looked_up() && page.path() == path);
    html! {
        nav aria-label="pages" {
            ul {
                (pages(false))
                li {
                    details open[is_here] {
                        summary { "Look up" }
                        ul { (pages(true)) }
                    }
                }
            }
        }
    }
}

/// There is no such page.
pub fn not_found(visit: &Visit<'_>) -> Document {
    let main = html! {
        article.sheet {
            h1 { "There is no such page" }
            p { "The menu above names all there are." }
        }
    };
    Document::page(404, frame("No such page", "-", visit, &main))
}
