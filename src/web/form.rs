//! Forms: what a page asks, described once and drawn from that description.
//!
//! Every field has a label, its unit, and its faults tied to it; a group is folded away until it is
//! wanted or faulty, and says how much of it is filled in.

use super::ask::Said;
use super::fields::Fields;
use maud::{Markup, html};

/// One field.
#[derive(Clone, Debug)]
pub struct Field {
    /// Its name in the address.
    pub name: String,
    /// What it asks, in a few words.
    pub label: String,
    /// The unit of a bare number.
    pub unit: &'static str,
    /// How to fill it in.
    pub hint: String,
    /// How it is filled in.
    pub input: Input,
    /// True where a phone should offer digits.
    pub digits: bool,
}

/// How a field is filled in.
#[derive(Clone, Debug)]
pub enum Input {
    /// A line; `shown` stands in it while it is empty.
    Line {
        /// What counts where nothing is typed.
        shown: String,
    },
    /// Several lines; `example` stands in it while it is empty.
    Lines {
        /// How it may look.
        example: &'static str,
    },
    /// One of these; the first counts where none is chosen.
    One(Vec<Choice>),
    /// Any of these.
    Any(Vec<Choice>),
}

/// What can be chosen.
#[derive(Clone, Debug)]
pub struct Choice {
    /// Its name in the address; blank for what counts anyway.
    pub value: String,
    /// Its name in words.
    pub words: String,
}

impl Choice {
    /// A choice.
    pub fn new(value: impl Into<String>, words: impl Into<String>) -> Self {
        let (value, words) = (value.into(), words.into());
        Self { value, words }
    }
}

impl Field {
    /// A field of one line.
    pub fn line(name: impl Into<String>, label: impl Into<String>, unit: &'static str) -> Self {
        let shown = String::new();
        Self::new(name, label, unit, Input::Line { shown })
    }

    /// A field of several lines.
    pub fn lines(name: &str, label: &str, example: &'static str) -> Self {
        Self::new(name, label, "", Input::Lines { example })
    }

    /// A choice of one.
    pub fn one(name: &str, label: &str, choices: Vec<Choice>) -> Self {
        Self::new(name, label, "", Input::One(choices))
    }

    /// A choice of any.
    pub fn any(name: &str, label: &str, choices: Vec<Choice>) -> Self {
        Self::new(name, label, "", Input::Any(choices))
    }

    /// True for what needs the whole width of a form.
    fn is_wide(&self) -> bool {
        /// Longest choice that fits half of a narrow screen, characters.
        const SHORT: usize = 22;
        match &self.input {
            Input::Line { .. } => !self.hint.is_empty(),
            Input::One(choices) => choices.iter().any(|c| c.words.chars().count() > SHORT),
            Input::Lines { .. } | Input::Any(_) => true,
        }
    }

    fn new(
        name: impl Into<String>,
        label: impl Into<String>,
        unit: &'static str,
        input: Input,
    ) -> Self {
        Self {
            name: name.into(),
            label: label.into(),
            unit,
            hint: String::new(),
            input,
            digits: false,
        }
    }

    /// Mostly a bare number: a phone then offers digits.
    #[must_use]
    pub const fn digits(mut self) -> Self {
        self.digits = true;
        self
    }

    /// With words on how to fill it in.
    #[must_use]
    pub fn hint(mut self, words: impl Into<String>) -> Self {
        self.hint = words.into();
        self
    }

    /// With a figure that counts while nothing is typed.
    #[must_use]
    pub fn shown(mut self, figure: impl Into<String>) -> Self {
        if let Input::Line { shown } = &mut self.input {
            *shown = figure.into();
        }
        self
    }
}

/// Fields that belong together.
#[derive(Clone, Debug)]
pub struct Group {
    /// What they are about; without a title they always stand open.
    pub title: &'static str,
    /// The fields.
    pub fields: Vec<Field>,
}

impl Group {
    /// Fields that always stand open.
    pub const fn open(fields: Vec<Field>) -> Self {
        Self { title: "", fields }
    }

    /// Fields folded away under a title.
    pub const fn folded(title: &'static str, fields: Vec<Field>) -> Self {
        Self { title, fields }
    }
}

/// A form with what was filled in and what is wrong with it.
pub struct Form<'a> {
    /// Where its question is answered.
    pub action: &'a str,
    /// Its fields.
    pub groups: &'a [Group],
    /// What was filled in.
    pub fields: &'a Fields,
    /// What is wrong.
    pub said: &'a [Said],
    /// What its button says.
    pub button: &'a str,
    /// True where the script may answer while it is filled in.
    pub live: bool,
    /// For a form that notes something: the fields that are sent unseen. It is sent as a POST.
    pub post: Option<&'a [(&'static str, String)]>,
}

impl Form<'_> {
    /// Draws it. A question is a GET; the second button sends what is too long for an address.
    pub fn draw(&self) -> Markup {
        let method = if self.post.is_some() { "post" } else { "get" };
        html! {
            form method=(method) action=(self.action) data-live[self.live]
                autocomplete="off" autocapitalize="none" spellcheck="false" {
                @for (name, value) in self.post.unwrap_or_default() {
                    input type="hidden" name=(name) value=(value);
                }
                @for group in self.groups {
                    @if group.title.is_empty() {
                        div.group { (self.group(group)) }
                    } @else {
                        details open[self.is_faulty(group)] {
                            summary {
                                (group.title)
                                @if let Some(count) = self.filled(group) {
                                    span.unit { " " (count) " filled in" }
                                }
                            }
                            div.group { (self.group(group)) }
                        }
                    }
                }
                p.buttons {
                    button { (self.button) }
                    @if self.post.is_none() && self.has_lines() {
                        button.plain formmethod="post" { "Send long lists" }
                    }
                }
            }
        }
    }

    fn group(&self, group: &Group) -> Markup {
        html! { @for field in &group.fields { (self.field(field)) } }
    }

    fn is_faulty(&self, group: &Group) -> bool {
        let mut fields = group.fields.iter();
        fields.any(|field| self.faults(field).next().is_some())
    }

    /// How many fields of a group say something, if any do.
    fn filled(&self, group: &Group) -> Option<usize> {
        let asked = |field: &&Field| self.fields.get(&field.name).is_some();
        Some(group.fields.iter().filter(asked).count()).filter(|count| *count > 0)
    }

    fn has_lines(&self) -> bool {
        let mut fields = self.groups.iter().flat_map(|group| &group.fields);
        fields.any(|field| matches!(field.input, Input::Lines { .. }))
    }

    fn faults<'b>(&'b self, field: &'b Field) -> impl Iterator<Item = &'b Said> {
        let name = Some(field.name.as_str());
        self.said
            .iter()
            .filter(move |said| said.field.as_deref() == name)
    }

    fn field(&self, field: &Field) -> Markup {
        let (name, faulty) = (&field.name, self.faults(field).next().is_some());
        let described = [
            (!field.hint.is_empty()).then(|| format!("{name}-hint")),
            faulty.then(|| format!("{name}-fault")),
        ];
        let described: Vec<String> = described.into_iter().flatten().collect();
        let described = (!described.is_empty()).then(|| described.join(" "));
        let filled = self.fields.get(name);
        let value = filled.unwrap_or_default();
        let invalid = faulty.then_some("true");
        let label = html! {
            label for=(name) {
                (field.label)
                @if !field.unit.is_empty() { span.unit { " " (field.unit) } }
            }
        };
        html! {
            div class=(if field.is_wide() { "field wide" } else { "field" }) {
                @match &field.input {
                    Input::Line { shown } => {
                        (label)
                        @let shown = Some(shown).filter(|shown| !shown.is_empty());
                        input id=(name) name=(name) value=[filled] placeholder=[shown]
                            inputmode=[field.digits.then_some("decimal")]
                            aria-describedby=[described] aria-invalid=[invalid];
                    }
                    Input::Lines { example } => {
                        (label)
                        textarea id=(name) name=(name) rows=(rows(value, example))
                            placeholder=(example)
                            aria-describedby=[described] aria-invalid=[invalid] { (value) }
                    }
                    Input::One(choices) => {
                        (label)
                        select id=(name) name=(name)
                            aria-describedby=[described] aria-invalid=[invalid] {
                            @for choice in choices {
                                option value=(choice.value) selected[choice.value == value] {
                                    (choice.words)
                                }
                            }
                        }
                    }
                    Input::Any(choices) => {
                        fieldset id=(name) aria-describedby=[described] {
                            legend { (field.label) }
                            @for choice in choices {
                                label {
                                    input type="checkbox" name=(name) value=(choice.value)
                                        checked[self.fields.all(name).any(|v| v == choice.value)];
                                    (choice.words)
                                }
                            }
                        }
                    }
                }
                @if !field.hint.is_empty() {
                    p.hint id=(format!("{name}-hint")) { (field.hint) }
                }
                @if faulty {
                    ul.fault id=(format!("{name}-fault")) {
                        @for said in self.faults(field) { li { (words(said)) } }
                    }
                }
            }
        }
    }
}

/// A fault with the line it stands in.
fn words(said: &Said) -> Markup {
    html! {
        (said.words)
        @if let Some(line) = &said.excerpt { " " code { (line) } }
    }
}

/// Lines that a field of several is high.
fn rows(value: &str, example: &str) -> usize {
    value
        .lines()
        .count()
        .max(example.lines().count())
        .clamp(3, 16)
}

/// Everything that is wrong, at the head of the answer, each with a way to its field.
pub fn refused(said: &[Said], groups: &[Group]) -> Markup {
    undone("No answer yet", said, groups)
}

/// Everything that is wrong, under a heading.
pub fn undone(heading: &str, said: &[Said], groups: &[Group]) -> Markup {
    let count = match said.len() {
        1 => "One thing has".to_owned(),
        more => format!("{more} things have"),
    };
    let labels = || groups.iter().flat_map(|group| &group.fields);
    html! {
        div.refused role="alert" {
            h2 { (heading) }
            p { (count) " to be mended first." }
            ul {
                @for fault in said {
                    @let field = labels().find(|field| Some(&field.name) == fault.field.as_ref());
                    li {
                        @if let Some(field) = field {
                            a href=(format!("#{}", field.name)) { (field.label) } ": "
                        }
                        (words(fault))
                    }
                }
            }
        }
    }
}
