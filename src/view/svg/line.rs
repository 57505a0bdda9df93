//! A line through points: what something costs against what is allowed.

use maud::{Markup, html};

/// A point with what it says.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// Along the lower edge.
    pub x: f64,
    /// Up from it.
    pub y: f64,
    /// Both figures with their units, rounded.
    pub words: String,
}

/// What an edge is about, and the figures at its ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Edge {
    /// With its unit.
    pub name: String,
    /// At the left or lower end.
    pub low: String,
    /// At the right or upper end.
    pub high: String,
}

/// Width and height of the drawing.
const SIZE: (f64, f64) = (320.0, 200.0);
/// Where the lines cross: left and lower edge of the plot, and its right and upper one.
const PLOT: (f64, f64, f64, f64) = (12.0, 168.0, 308.0, 28.0);
/// Radius of a point.
const DOT: f64 = 4.0;

/// Draws a line from the lowest x to the highest, and from no y to the highest, under a caption;
/// nothing where there is no line.
pub fn draw(caption: &str, across: &Edge, up: &Edge, points: &[Point]) -> Option<Markup> {
    let (first, last) = (points.first()?, points.last()?);
    let most = points.iter().map(|point| point.y).fold(0.0, f64::max);
    if last.x <= first.x || most <= 0.0 {
        return None;
    }
    let (left, bottom, right, top) = PLOT;
    let place = |point: &Point| {
        let x = left + (right - left) * (point.x - first.x) / (last.x - first.x);
        let y = bottom + (top - bottom) * point.y / most;
        (x, y)
    };
    let path: Vec<String> = points
        .iter()
        .map(|point| {
            let (x, y) = place(point);
            format!("{x:.1} {y:.1}")
        })
        .collect();
    let said: Vec<&str> = points.iter().map(|point| point.words.as_str()).collect();
    let (width, height) = SIZE;
    Some(html! {
        figure {
            figcaption { (caption) }
            svg.line viewBox=(format!("0 0 {width} {height}")) role="img" {
                title { (caption) }
                desc { (said.join("; ")) }
                path.rule d=(format!("M{left} {top}V{bottom}H{right}")) {}
                path.run d=(format!("M{}", path.join("L"))) {}
                @for point in points {
                    @let (x, y) = place(point);
                    circle cx=(format!("{x:.1}")) cy=(format!("{y:.1}")) r=(DOT) {
                        title { (point.words) }
                    }
                }
                text x="0" y="12" { (up.high) " " (up.name) }
                text x=(left) y=(bottom + 14.0) { (across.low) }
                text.figure x=(right) y=(bottom + 14.0) { (across.high) }
                text x=(left) y=(bottom + 28.0) { (across.name) }
            }
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edge(name: &str, high: &str) -> Edge {
        let low = "0".into();
        Edge {
            name: name.into(),
            low,
            high: high.into(),
        }
    }

    fn point(x: f64, y: f64) -> Point {
        let words = format!("{x} %: {y}");
        Point { x, y, words }
    }

    #[test]
    fn points_stand_where_their_figures_are() {
        let (across, up) = (edge("% off", "10 %"), edge("per 1000 L", "2.00"));
        let points = [point(0.0, 2.0), point(5.0, 1.0), point(10.0, 1.0)];
        let drawn = draw("cost", &across, &up, &points).expect("a picture");
        let drawn = drawn.into_string();
        for said in [
            "M12.0 28.0L160.0 98.0L308.0 98.0",
            "<title>cost</title>",
            "<desc>0 %: 2; 5 %: 1; 10 %: 1</desc>",
            "2.00 per 1000 L",
        ] {
            assert!(drawn.contains(said), "{said}: {drawn}");
        }
    }

    #[test]
    fn one_point_is_no_line() {
        let edge = edge("x", "1");
        assert!(draw("alone", &edge, &edge, &[point(1.0, 1.0)]).is_none());
        assert!(draw("nothing", &edge, &edge, &[]).is_none());
    }
}
