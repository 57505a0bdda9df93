//! What is sent back: a status, a kind and a text.

use maud::Markup;
use std::borrow::Cow;

/// Media types.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // named for what they are
pub enum Media {
    Html,
    Css,
    Script,
    Svg,
    Json,
    Problem,
    Csv,
}

impl Media {
    /// Its name in a header.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Html => "text/html; charset=utf-8",
            Self::Css => "text/css; charset=utf-8",
            Self::Script => "text/javascript; charset=utf-8",
            Self::Svg => "image/svg+xml",
            Self::Json => "application/json",
            Self::Problem => "application/problem+json",
            Self::Csv => "text/csv; charset=utf-8",
        }
    }
}

/// A document with the headers that belong to it.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    /// HTTP status code.
    pub status: u16,
    /// Media type.
    pub media: Media,
    /// The document.
    pub text: Cow<'static, str>,
    /// Where to look instead.
    pub location: Option<String>,
    /// Methods that are allowed here.
    pub allow: Option<&'static str>,
    /// Name of the file that it is saved as.
    pub file: Option<String>,
    /// Seconds after which to ask again.
    pub retry_after: Option<u32>,
    /// True for what never changes under its address.
    pub lasting: bool,
}

impl Document {
    /// A document that was asked for.
    pub fn new(media: Media, text: impl Into<Cow<'static, str>>) -> Self {
        Self {
            status: 200,
            media,
            text: text.into(),
            location: None,
            allow: None,
            file: None,
            retry_after: None,
            lasting: false,
        }
    }

    /// A page.
    pub fn page(status: u16, page: Markup) -> Self {
        Self::new(Media::Html, page.into_string()).with_status(status)
    }

    /// The same with another status.
    #[must_use]
    pub const fn with_status(mut self, status: u16) -> Self {
        self.status = status;
        self
    }

    /// Another address to look at.
    pub fn elsewhere(address: String) -> Self {
        Self {
            location: Some(address),
            ..Self::new(Media::Html, "").with_status(303)
        }
    }

    /// A table to keep.
    pub fn csv(name: &str, text: String) -> Self {
        Self {
            file: Some(format!("{name}.csv")),
            ..Self::new(Media::Csv, text)
        }
    }

    /// A method that is not allowed here.
    pub fn wrong_method(allow: &'static str) -> Self {
        Self {
            allow: Some(allow),
            ..super::api::problem::document(405, &format!("Ask this address with {allow}."))
        }
    }
}
