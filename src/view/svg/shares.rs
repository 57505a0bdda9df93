//! Shares of a whole as lying bars: what each fertilizer costs, what each ion conducts.

use maud::{Markup, html};

/// One bar.
#[derive(Clone, Debug, PartialEq)]
pub struct Share {
    /// What it stands for.
    pub name: String,
    /// Its figure with its unit, rounded.
    pub figure: String,
    /// Its share of the whole.
    pub percent: f64,
}

/// Width of the drawing.
const WIDTH: f64 = 320.0;
/// Height of one bar with its words.
const ROW: usize = 30;
/// Narrowest bar that is still seen.
const THINNEST: f64 = 1.0;

/// Draws the bars under a caption; nothing where there is nothing to compare.
pub fn draw(caption: &str, shares: &[Share]) -> Option<Markup> {
    let largest = shares.iter().map(|share| share.percent).fold(0.0, f64::max);
    if shares.len() < 2 || largest <= 0.0 {
        return None;
    }
    let height = ROW * shares.len();
    let said: Vec<String> = shares
        .iter()
        .map(|share| format!("{} {}", share.name, share.figure))
        .collect();
    let rules = (0..shares.len()).map(|at| format!("M0 {}H{WIDTH}", ROW * at + 22));
    let rules: String = rules.collect();
    Some(html! {
        figure {
            figcaption { (caption) }
            svg.shares viewBox=(format!("0 0 {WIDTH} {height}")) role="img" {
                title { (caption) }
                desc { (said.join(", ")) }
                path.rule d=(rules) {}
                @for (at, share) in shares.iter().enumerate() {
                    text x="0" y=(ROW * at + 13) { (share.name) }
                    text.figure x=(WIDTH) y=(ROW * at + 13) { (share.figure) }
                    rect.share x="0" y=(ROW * at + 18) height="8"
                        width=(format!("{:.1}", length(share.percent, largest))) {}
                }
            }
        }
    })
}

/// The largest share takes the whole width.
fn length(percent: f64, largest: f64) -> f64 {
    (WIDTH * percent / largest).max(THINNEST)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(name: &str, percent: f64) -> Share {
        let figure = format!("{percent:.0} %");
        Share {
            name: name.into(),
            figure,
            percent,
        }
    }

    #[test]
    fn bars_are_as_long_as_their_shares_and_say_them() {
        let drawn = draw(
            "what each costs",
            &[share("urea", 60.0), share("borax", 30.0)],
        );
        let drawn = drawn.expect("a picture").into_string();
        for said in [
            "width=\"320.0\"",
            "width=\"160.0\"",
            "<title>what each costs</title>",
            "<desc>urea 60 %, borax 30 %</desc>",
        ] {
            assert!(drawn.contains(said), "{said}: {drawn}");
        }
    }

    #[test]
    fn one_share_is_no_comparison() {
        assert!(draw("alone", &[share("urea", 100.0)]).is_none());
        assert!(draw("nothing", &[]).is_none());
    }
}
