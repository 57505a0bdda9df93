//! A table as TOML, to start one's own from; what is written is read back as the same.

use saltwright_fertilizers::{Node, Value};
use std::fmt::Write as _;

/// Writes a table: plain entries first, then its tables under their heads.
pub fn write(node: &Node) -> String {
    let mut out = String::new();
    let Value::Table(entries) = &node.value else {
        return out;
    };
    let (tables, plain): (Vec<_>, Vec<_>) = entries
        .iter()
        .partition(|(_, node)| matches!(node.value, Value::Table(_)));
    for (key, node) in plain {
        // Writing to memory does not fail.
        let _ = writeln!(out, "{} = {}", name(key), inline(node));
    }
    for (head, node) in tables {
        let _ = writeln!(out, "[{}]", name(head));
        if let Value::Table(entries) = &node.value {
            for (key, node) in entries {
                let _ = writeln!(out, "{} = {}", name(key), inline(node));
            }
        }
    }
    out
}

/// A key, quoted where TOML asks for it.
fn name(key: &str) -> String {
    let bare = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    if !key.is_empty() && key.chars().all(bare) {
        key.to_owned()
    } else {
        text(key)
    }
}

fn inline(node: &Node) -> String {
    match &node.value {
        Value::Null => "\"\"".to_owned(),
        Value::Bool(yes) => yes.to_string(),
        Value::Number(number) => number.to_string(),
        Value::Text(words) => text(words),
        Value::List(items) => {
            let items: Vec<String> = items.iter().map(inline).collect();
            format!("[{}]", items.join(", "))
        }
        Value::Table(entries) => {
            let entries = entries
                .iter()
                .map(|(key, node)| format!("{} = {}", name(key), inline(node)));
            format!("{{ {} }}", entries.collect::<Vec<_>>().join(", "))
        }
    }
}

/// A basic string; its escapes are those of JSON but for one.
fn text(words: &str) -> String {
    let quoted = serde_json::to_string(words).unwrap_or_default();
    quoted.replace('\u{7f}', "\\u007f")
}

#[cfg(test)]
mod tests {
    use super::*;
    use saltwright_fertilizers::Faults;
    use saltwright_recipes::{Library, Recipe};

    #[test]
    fn every_shipped_recipe_comes_back_as_it_was() {
        let library = Library::shipped().expect("sound");
        for recipe in &library.recipes {
            let text = write(&recipe.to_node());
            let mut faults = Faults::default();
            let node = Node::from_toml(&text).unwrap_or_else(|fault| panic!("{fault:?}\n{text}"));
            let read = Recipe::read(&node, "", &mut faults).expect("read");
            let aims: Vec<_> = read.aims().collect();
            assert_eq!(aims, recipe.aims().collect::<Vec<_>>(), "{text}");
            assert_eq!((&read.name, &read.note), (&recipe.name, &recipe.note));
        }
    }

    #[test]
    fn odd_words_come_back() {
        let node = Node::table([("a b", Node::text("\"\u{7f}\n\\ é"))]);
        let read = Node::from_toml(&write(&node)).expect("TOML");
        let words = read.get("a b").map(|node| node.value.clone());
        assert_eq!(words, Some(Value::Text("\"\u{7f}\n\\ é".into())));
    }
}
