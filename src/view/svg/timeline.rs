//! Readings over time as panels under each other, with bands and what was done.

use crate::store::journal::Moment;
use crate::view::chart::{Chart, Mark, Panel};
use maud::{Markup, PreEscaped, html};

/// Where the plots begin.
const LEFT: f64 = 8.0;
/// Room for the figures to the right of the plots.
const FIGURES: f64 = 65.0;
/// Height of one panel, and of the plot in it.
const PANEL: f64 = 150.0;
const PLOT: f64 = 92.0;
/// From the top of a panel to its plot.
const HEAD: f64 = 26.0;
/// Shortest time that is drawn as a span, seconds.
const LEAST: f64 = 3600.0;

/// What a drawing needs where no style sheet is at hand: black on white, shapes before colours.
const STYLE: &str = "text{font:13px sans-serif;fill:#111}.band{fill:#e8e8e8;stroke:#999}\
    .line{fill:none;stroke:#0072b2;stroke-width:2}.dot{fill:#0072b2}\
    .done{stroke:#d55e00;stroke-dasharray:4 3}.frame{fill:none;stroke:#bbb}";

/// Where a drawing is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// In a file of its own, which brings its style and says each figure where it is pointed at.
    File,
    /// On a page, beside its figures, with the style sheet of the page, and as wide as a phone.
    Page,
}

impl Place {
    /// Width of the drawing.
    const fn width(self) -> f64 {
        match self {
            Self::File => 640.0,
            Self::Page => 340.0,
        }
    }

    /// Where the plots end.
    const fn right(self) -> f64 {
        self.width() - FIGURES
    }
}

/// Draws a chart; nothing where nothing was read.
pub fn draw(chart: &Chart, place: Place) -> Option<Markup> {
    let span = Span::of(chart, place)?;
    let title = format!("{} over time", chart.system);
    let mut top = 0.0;
    let panels: Vec<Markup> = chart
        .panels
        .iter()
        .map(|each| {
            let drawn = panel(each, &chart.marks, &span, top, place);
            top += PANEL;
            drawn
        })
        .collect();
    Some(html! {
        svg.timeline xmlns=[(place == Place::File).then_some("http://www.w3.org/2000/svg")] role="img"
            viewBox=(format!("0 0 {} {top}", place.width())) {
            title { (title) }
            desc { (words(chart)) }
            @if place == Place::File { style { (PreEscaped(STYLE)) } }
            @for panel in panels { (panel) }
        }
    })
}

/// What the drawing says, in words.
fn words(chart: &Chart) -> String {
    let panels = chart.panels.iter().filter_map(|panel| {
        let (first, last) = (panel.points.first()?, panel.points.last()?);
        Some(format!(
            "{}: from {} on {} to {} on {}",
            panel.name,
            first.shown,
            first.at.minute(),
            last.shown,
            last.at.minute()
        ))
    });
    panels.collect::<Vec<_>>().join("; ")
}

/// The time that is drawn.
struct Span {
    from: Moment,
    to: Moment,
    right: f64,
}

impl Span {
    fn of(chart: &Chart, place: Place) -> Option<Self> {
        let moments = || {
            chart
                .panels
                .iter()
                .flat_map(|p| p.points.iter().map(|point| point.at))
        };
        Some(Self {
            from: moments().min()?,
            to: moments().max()?,
            right: place.right(),
        })
    }

    #[allow(clippy::cast_precision_loss)] // centuries in seconds are exact
    fn x(&self, at: Moment) -> f64 {
        let length = ((self.to.second - self.from.second) as f64).max(LEAST);
        let into = (at.second - self.from.second) as f64;
        LEFT + (self.right - LEFT) * (into / length).clamp(0.0, 1.0)
    }
}

fn panel(panel: &Panel, marks: &[Mark], span: &Span, top: f64, place: Place) -> Markup {
    let says = place == Place::File;
    let right = span.right;
    let y = |value: f64| top + HEAD + PLOT * (1.0 - panel.share(value));
    let corner = |at: Moment, value: f64| format!("{:.1},{:.1}", span.x(at), y(value));
    let line: Vec<String> = panel
        .points
        .iter()
        .map(|point| corner(point.at, point.value))
        .collect();
    let bottom = top + HEAD + PLOT;
    let ends = panel.ends();
    let shown = |value: f64| {
        let nearest = panel
            .points
            .iter()
            .find(|point| (point.value - value).abs() < 1e-9);
        nearest.map_or_else(
            || crate::view::round::plain(value),
            |point| point.shown.clone(),
        )
    };
    html! {
        text x=(LEFT) y=(top + 16.0) { (panel.name) }
        rect.frame x=(LEFT) y=(top + HEAD) width=(right - LEFT) height=(PLOT) {}
        @if let Some([low, high]) = panel.band {
            rect.band x=(LEFT) y=(format!("{:.1}", y(high))) width=(right - LEFT)
                height=(format!("{:.1}", y(low) - y(high))) {
                title { "band " (crate::view::round::plain(low)) " to " (crate::view::round::plain(high)) }
            }
        }
        @for mark in marks {
            path.done d=(format!("M{:.1} {:.1}V{bottom:.1}", span.x(mark.at), top + HEAD)) {
                @if says { title { (mark.at.minute()) ": " (mark.words) } }
            }
        }
        polyline.line points=(line.join(" ")) {}
        @for point in &panel.points {
            circle.dot cx=(format!("{:.1}", span.x(point.at))) cy=(format!("{:.1}", y(point.value))) r="3" {
                @if says { title { (point.at.minute()) ": " (point.shown) } }
            }
        }
        @for end in ends {
            text x=(right + 4.0) y=(format!("{:.1}", y(end) + 4.0)) { (shown(end)) }
        }
        text x=(LEFT) y=(bottom + 15.0) { (span.from.day()) }
        text x=(right) y=(bottom + 15.0) text-anchor="end" { (span.to.day()) }
    }
}
