//! The fields of an address or of a form that was sent: names and values in order.

use form_urlencoded::{byte_serialize, parse};

/// Longest question that is kept in an address, bytes; a longer one is sent as a form.
pub const MAX_QUERY: usize = 6 * 1024;
/// Most fields that are read; the largest form of ours has under a hundred.
const MAX_FIELDS: usize = 1000;

/// Names and values as they were sent; what is blank was not asked.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fields {
    pairs: Vec<(String, String)>,
    /// True where a field was sent blank.
    blank: bool,
}

impl Fields {
    /// Reads `name=value&name=value`. Line ends of a browser become plain ones.
    pub fn read(encoded: &[u8]) -> Self {
        let mut fields = Self::default();
        for (name, value) in parse(encoded).take(MAX_FIELDS) {
            if value.trim().is_empty() {
                fields.blank = true;
            } else {
                let value = value.replace("\r\n", "\n");
                fields.pairs.push((name.into_owned(), value));
            }
        }
        fields
    }

    /// Fields from pairs.
    pub fn of(pairs: &[(&str, &str)]) -> Self {
        let owned = |(name, value): &(&str, &str)| ((*name).to_owned(), (*value).to_owned());
        let asked = pairs.iter().filter(|(_, value)| !value.trim().is_empty());
        Self {
            pairs: asked.map(owned).collect(),
            blank: false,
        }
    }

    /// The first value of that name.
    pub fn get(&self, name: &str) -> Option<&str> {
        let mut of_name = self.pairs.iter().filter(|(known, _)| known == name);
        of_name.next().map(|(_, value)| value.as_str())
    }

    /// All values of that name.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        let of_name = self.pairs.iter().filter(move |(known, _)| known == name);
        of_name.map(|(_, value)| value.as_str())
    }

    /// Every name, in order, as often as it was sent.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.pairs.iter().map(|(name, _)| name.as_str())
    }

    /// Sets a field in place of what it was.
    pub fn set(&mut self, name: &str, value: &str) {
        self.pairs.retain(|(known, _)| known != name);
        if !value.trim().is_empty() {
            self.pairs.push((name.to_owned(), value.to_owned()));
        }
    }

    /// True where something was sent that says nothing.
    pub const fn has_blanks(&self) -> bool {
        self.blank
    }

    /// The shortest way to write them in an address, `?` included; nothing where nothing is asked.
    pub fn query(&self) -> String {
        let mut query = String::new();
        for (name, value) in &self.pairs {
            query.push(if query.is_empty() { '?' } else { '&' });
            query.extend(byte_serialize(name.as_bytes()));
            query.push('=');
            query.extend(byte_serialize(value.as_bytes()));
        }
        query
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_blank_is_not_asked() {
        let fields = Fields::read(b"recipe=hoagland-2&tank=&aim-K=1%2C5+&note=a%0D%0Ab");
        assert!(fields.has_blanks());
        assert_eq!(fields.get("tank"), None);
        assert_eq!(fields.get("aim-K"), Some("1,5 "));
        assert_eq!(fields.get("note"), Some("a\nb"));
        let again = Fields::read(fields.query().trim_start_matches('?').as_bytes());
        assert_eq!(again.pairs, fields.pairs);
        assert!(!again.has_blanks());
        assert_eq!(Fields::default().query(), "");
    }

    #[test]
    fn bytes_that_are_no_text_do_no_harm() {
        let fields = Fields::read(b"a=%ff%fe&%=1&&=&x");
        assert_eq!(fields.get("a"), Some("\u{fffd}\u{fffd}"));
    }
}
