//! The gallery: broken inputs, and exactly what is said of each. What is doubtful but answered, with
//! exit code 0, says so in its title.
//!
//! Each case of `tests/errors/gallery.txt` holds the files it needs, the command, and the expected
//! output and exit code. `UPDATE_GALLERY=1 cargo test errors` rewrites the expectations.

use crate::common::saltwright;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

const GALLERY: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/errors/gallery.txt");

/// One case: a title, files, a command line and what it must say.
#[derive(Clone, Debug, Default)]
struct Case {
    title: String,
    files: Vec<(String, String)>,
    command: String,
    input: String,
    said: String,
}

/// Cases stand apart by lines of `== title`; `-- file NAME`, `-- input`, `$ command` and `-- said`
/// head their parts.
fn parse(text: &str) -> Vec<Case> {
    let mut cases: Vec<Case> = Vec::new();
    let mut part = "";
    for line in text.lines() {
        if let Some(title) = line.strip_prefix("== ") {
            cases.push(Case {
                title: title.to_owned(),
                ..Case::default()
            });
            part = "";
            continue;
        }
        let Some(case) = cases.last_mut() else {
            continue;
        };
        if let Some(command) = line.strip_prefix("$ saltwright ") {
            command.clone_into(&mut case.command);
        } else if let Some(name) = line.strip_prefix("-- file ") {
            case.files.push((name.to_owned(), String::new()));
            part = "file";
        } else if line == "-- input" || line == "-- said" {
            part = &line[3..];
        } else {
            let target = match part {
                "file" => case.files.last_mut().map(|(_, text)| text),
                "input" => Some(&mut case.input),
                "said" => Some(&mut case.said),
                _ => None,
            };
            if let Some(target) = target {
                target.push_str(line);
                target.push('\n');
            }
        }
    }
    cases
}

fn print(cases: &[Case]) -> String {
    let mut text = String::from(
        "Broken inputs and what is said of them. See tests/errors.rs for the form of this file.\n",
    );
    for case in cases {
        writeln!(text, "\n== {}", case.title).expect("memory");
        for (name, content) in &case.files {
            write!(text, "-- file {name}\n{content}").expect("memory");
        }
        if !case.input.is_empty() {
            write!(text, "-- input\n{}", case.input).expect("memory");
        }
        write!(
            text,
            "$ saltwright {}\n-- said\n{}",
            case.command, case.said
        )
        .expect("memory");
    }
    text
}

/// Runs a case in a folder of its own; what it says on either stream and its exit code.
fn run(case: &Case) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, content) in &case.files {
        fs::write(folder.path().join(name), content.trim_end_matches('\n')).expect("written");
    }
    special_files(folder.path(), &case.command);
    let arguments = case
        .command
        .split_whitespace()
        .map(|word| word.replace('~', " "));
    let mut command = saltwright();
    command.current_dir(folder.path()).args(arguments);
    let stdin = folder.path().join("stdin");
    fs::write(&stdin, case.input.trim_end_matches('\n')).expect("written");
    command.stdin(fs::File::open(stdin).expect("readable"));
    let output = command.output().expect("it starts");
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("UTF-8");
    let code = output.status.code().expect("no signal");
    format!(
        "{}{}exit {code}\n",
        text(&output.stdout),
        text(&output.stderr)
    )
}

/// Files that a text cannot hold, made where the command names them: a folder, a binary, one of a
/// gigabyte, ten thousand levels, a line of ten megabytes.
fn special_files(folder: &Path, command: &str) {
    let make = |name: &str, bytes: &dyn Fn() -> Vec<u8>| {
        if command.contains(name) {
            fs::write(folder.join(name), bytes()).expect("written");
        }
    };
    let deep = || "[".repeat(10_000) + &"]".repeat(10_000);
    make("binary.csv", &|| vec![0_u8, 1, 2, 0xff]);
    make("latin1.toml", &|| b"name = \"caf\xe9\"\n".to_vec());
    make("deep.toml", &|| {
        format!("[aims]\nK = {}\n", deep()).into_bytes()
    });
    make("deep.jsonl", &|| {
        format!("{0}\n{{\"job\": {0}}}\n", deep()).into_bytes()
    });
    make("long.jsonl", &|| {
        let mut lines = vec![b'x'; 10 * 1024 * 1024];
        lines.extend(b"\n\xff\n{}");
        lines
    });
    if command.contains("a-folder") {
        fs::create_dir(folder.join("a-folder")).expect("made");
    }
    if command.contains("big.csv") {
        let big = fs::File::create(folder.join("big.csv")).expect("made");
        big.set_len(1024 * 1024 * 1024).expect("sparse");
    }
}

#[test]
fn every_broken_input_is_refused_in_its_own_words() {
    let text = fs::read_to_string(GALLERY).expect("the gallery");
    let mut cases = parse(&text);
    assert!(cases.len() >= 100, "{} cases", cases.len());
    let update = std::env::var_os("UPDATE_GALLERY").is_some();
    for case in &mut cases {
        let said = run(case);
        if update {
            case.said = said;
        } else {
            let wanted = case.said.trim_end();
            assert_eq!(
                said.trim_end(),
                wanted,
                "\n== {}\n$ {}",
                case.title,
                case.command
            );
        }
        assert!(!case.said.contains("panicked"), "{}", case.title);
        assert!(
            !case.said.contains("exit 0")
                || case.command.starts_with("batch")
                || case.title.ends_with("(answered)"),
            "{}",
            case.title
        );
    }
    if update {
        fs::write(GALLERY, print(&cases)).expect("written");
    }
}
