//! A bar for one nutrient: where it ends between its bounds, readable without colour.
//!
//! ```text
//! below|   aim   |above
//!      |----:--#-|        the band with its aim at ':' and the delivered figure at '#'
//! ```

/// Characters outside the band, on each side.
const OUTSIDE: usize = 5;
/// Characters inside the band.
const INSIDE: usize = 9;
/// Characters of a whole bar.
pub const WIDTH: usize = 2 * OUTSIDE + INSIDE + 2;
/// What stands over a bar; its strokes are those of the band.
pub const HEAD: &str = "below|   aim   |above";
/// Relative misses from which the mark moves a cell further out.
const STEPS: [f64; OUTSIDE - 1] = [0.05, 0.1, 0.25, 0.5];

/// What a bar shows.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    /// Aim, where there is one.
    pub aim: Option<f64>,
    /// Lower end of the band.
    pub min: Option<f64>,
    /// Upper end of the band.
    pub max: Option<f64>,
    /// What it comes to.
    pub delivered: f64,
}

/// The bar, or nothing where there is no band to compare with.
pub fn draw(reading: Reading) -> String {
    let Some((low, high)) = band(reading) else {
        return String::new();
    };
    let mut cells = vec![' '; WIDTH];
    cells[OUTSIDE] = '|';
    cells[OUTSIDE + INSIDE + 1] = '|';
    for cell in &mut cells[OUTSIDE + 1..=OUTSIDE + INSIDE] {
        *cell = '-';
    }
    if let Some(aim) = reading.aim {
        cells[place(aim, low, high)] = ':';
    }
    cells[place(reading.delivered, low, high)] = '#';
    cells.into_iter().collect::<String>().trim_end().to_owned()
}

/// Where the marks of a drawn bar stand, in cells from its left end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Marks {
    /// The aim, unless the delivered figure stands on it.
    pub aim: Option<usize>,
    /// What it comes to.
    pub delivered: usize,
}

impl Marks {
    /// The cells of the ends of every band.
    pub const BAND: [usize; 2] = [OUTSIDE, OUTSIDE + INSIDE + 1];

    /// The marks of a bar made by [`draw`], so that a drawing shows what the characters show.
    pub fn read(drawn: &str) -> Option<Self> {
        Some(Self {
            aim: drawn.find(':'),
            delivered: drawn.find('#')?,
        })
    }

    /// Where the delivered figure stands, in a word.
    pub const fn word(self) -> &'static str {
        let [low, high] = Self::BAND;
        if self.delivered < low {
            "below"
        } else if self.delivered > high {
            "above"
        } else {
            "inside"
        }
    }
}

/// The band with open sides closed for drawing.
fn band(reading: Reading) -> Option<(f64, f64)> {
    match (reading.min, reading.max) {
        (None, None) => None,
        (low, Some(high)) => Some((low.unwrap_or(0.0), high)),
        (Some(low), None) => Some((low, (2.0 * low).max(reading.delivered))),
    }
}

/// The cell of a figure: inside from end to end, outside nearer or farther by how much it misses.
fn place(value: f64, low: f64, high: f64) -> usize {
    /// A miss within rounding of a printed figure counts as being on the bound.
    const ON_BOUND: f64 = 1e-7;
    let scale = high.abs().max(low.abs());
    if value < low - ON_BOUND * scale {
        let miss = (low - value) / low.max(f64::MIN_POSITIVE);
        OUTSIDE - steps(miss)
    } else if value > high + ON_BOUND * scale {
        let miss = (value - high) / high.max(f64::MIN_POSITIVE);
        OUTSIDE + INSIDE + 1 + steps(miss)
    } else {
        let share = if high > low {
            ((value - low) / (high - low)).clamp(0.0, 1.0)
        } else {
            0.5
        };
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            clippy::cast_precision_loss
        )] // a share of a few cells
        let cell = (share * (INSIDE - 1) as f64).round() as usize;
        OUTSIDE + 1 + cell.min(INSIDE - 1)
    }
}

/// How many cells outside the band a miss is shown.
fn steps(miss: f64) -> usize {
    1 + STEPS.iter().filter(|step| miss >= **step).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar(delivered: f64) -> String {
        draw(Reading {
            aim: Some(100.0),
            min: Some(90.0),
            max: Some(110.0),
            delivered,
        })
    }

    #[test]
    fn the_mark_moves_with_the_figure() {
        assert_eq!(bar(100.0), "     |----#----|");
        assert_eq!(bar(90.0), "     |#---:----|");
        assert_eq!(bar(110.0), "     |----:---#|");
        assert_eq!(bar(89.0), "    #|----:----|");
        assert_eq!(bar(85.0), "   # |----:----|");
        assert_eq!(bar(0.0), "#    |----:----|");
        assert_eq!(bar(111.0), "     |----:----|#");
        assert_eq!(bar(300.0), "     |----:----|    #");
        assert_eq!(HEAD.len(), WIDTH);
        assert_eq!(HEAD.find('|'), bar(100.0).find('|'));
        assert_eq!(HEAD.rfind('|'), bar(100.0).rfind('|'));
    }

    #[test]
    fn a_drawing_reads_what_was_drawn() {
        for (delivered, at, word) in [
            (100.0, 10, "inside"),
            (89.0, 4, "below"),
            (111.0, 16, "above"),
        ] {
            let marks = Marks::read(&bar(delivered)).expect("a bar");
            assert_eq!((marks.delivered, marks.word()), (at, word));
            assert_eq!(marks.aim, (word != "inside").then_some(10));
        }
        assert_eq!(Marks::read(""), None);
        assert_eq!(bar(100.0).find('|'), Some(Marks::BAND[0]));
        assert_eq!(bar(100.0).rfind('|'), Some(Marks::BAND[1]));
    }

    #[test]
    fn no_band_no_bar() {
        let reading = Reading {
            aim: None,
            min: None,
            max: None,
            delivered: 5.0,
        };
        assert_eq!(draw(reading), "");
        let zero = Reading {
            aim: None,
            min: None,
            max: Some(0.0),
            delivered: 0.0,
        };
        assert_eq!(draw(zero), "     |----#----|");
    }
}
