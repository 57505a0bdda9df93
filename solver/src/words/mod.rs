//! Sentences of reports and cautions, made from facts in one place, for all faces.

mod fertilizers;
mod formulate;
pub mod purchase;
pub mod readings;
pub mod reservoir;
pub mod solids;
pub mod spread;
pub mod stock;
pub mod substitute;
pub mod water;

pub use fertilizers::*;
pub use formulate::*;

/// A figure with as many digits as make sense in a sentence.
pub fn figure(value: f64) -> String {
    let size = value.abs();
    let digits = if size >= 100.0 || size == 0.0 {
        0
    } else if size >= 10.0 {
        1
    } else if size >= 1.0 {
        2
    } else if size >= 0.01 {
        3
    } else {
        5
    };
    let mut text = format!("{value:.digits$}");
    if text.contains('.') {
        let kept = text.trim_end_matches('0').trim_end_matches('.').len();
        text.truncate(kept);
    }
    if text == "-0" { "0".into() } else { text }
}

/// A sentence with its first letter large.
pub(crate) fn opened(sentence: &str) -> String {
    let mut letters = sentence.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

/// `a, b and c`.
pub fn listing<T: AsRef<str>>(items: &[T]) -> String {
    match items {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", first.join(", "), last.as_ref())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_carry_the_digits_a_reader_can_use() {
        for (value, text) in [
            (123.456, "123"),
            (12.34, "12.3"),
            (1.234, "1.23"),
            (0.1234, "0.123"),
            (0.00123, "0.00123"),
            (0.0, "0"),
            (-0.0001, "-0.0001"),
            (90.0, "90"),
        ] {
            assert_eq!(figure(value), text);
        }
    }

    #[test]
    fn lists_read_like_sentences() {
        assert_eq!(listing(&["a"]), "a");
        assert_eq!(listing(&["a", "b", "c"]), "a, b and c");
    }
}
