//! A nutrient's bar: the cells of the terminal's bar, drawn.

use crate::view::bar::{Marks, WIDTH};
use maud::{Markup, html};

/// Units of the drawing per cell.
const CELL: usize = 6;
/// Height of the drawing.
const HEIGHT: usize = 14;

/// The middle of a cell.
const fn middle(cell: usize) -> usize {
    CELL * cell + CELL / 2
}

/// Draws a bar: a stroke for the aim, a diamond for what is delivered; the style sheet draws the line
/// that they stand on and the box of the band, which are the same for every bar.
pub fn draw(marks: Marks) -> Markup {
    let (x, y, r) = (middle(marks.delivered), HEIGHT / 2, 5);
    let diamond = format!("M{} {y}l{r} {r} {r}-{r}-{r}-{r}z", x - r);
    html! {
        svg.bar viewBox=(format!("0 0 {} {HEIGHT}", CELL * WIDTH)) role="img" {
            title { (marks.word()) " the band" }
            @if let Some(aim) = marks.aim {
                path.aim d=(format!("M{} 0V{HEIGHT}", middle(aim))) {}
            }
            path.mark d=(diamond) {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mark_stands_where_the_terminal_puts_it() {
        let drawn = "   # |----:----|";
        let svg = draw(Marks::read(drawn).expect("a bar")).into_string();
        assert!(svg.contains("<title>below the band</title>"), "{svg}");
        // Cell 3 has its middle at 21, its left corner 5 before it; the aim is in cell 10.
        assert!(svg.contains("d=\"M16 7l"), "{svg}");
        assert!(svg.contains("class=\"aim\" d=\"M63 0"), "{svg}");
    }
}
