//! What is told to readers, run: every command in the README and in the story of a season works, and
//! the answers that stand there are the real ones.

use crate::common::{saltwright, stderr, stdout};
use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Output, Stdio};
use tempfile::TempDir;

const README: &str = include_str!("../README.md");
const SEASON: &str = include_str!("../docs/season.md");

/// A command with what is told to follow it.
struct Told<'a> {
    command: &'a str,
    /// Lines of its answer, in order; `...` stands for others between them.
    answer: Option<&'a str>,
}

/// Every command of a text, in order.
fn told(text: &str) -> Vec<Told<'_>> {
    let blocks = text.split("```sh\n").skip(1);
    let told = blocks.map(|block| {
        let (command, rest) = block.split_once("\n```").expect("an end");
        let answer = rest.split_once("```text\n").and_then(|(between, answer)| {
            let (answer, _) = answer.split_once("```").expect("an end");
            (!between.contains("```")).then_some(answer)
        });
        Told { command, answer }
    });
    told.collect()
}

/// A folder that vanishes, with the lists of the demonstration where a reader finds them.
fn place() -> TempDir {
    let demo = "recipes/data/demo";
    let shipped = Path::new(env!("CARGO_MANIFEST_DIR")).join(demo);
    let place = tempfile::tempdir().expect("a folder");
    let copy = place.path().join(demo);
    fs::create_dir_all(&copy).expect("made");
    for file in fs::read_dir(shipped).expect("there") {
        let file = file.expect("a file");
        fs::copy(file.path(), copy.join(file.file_name())).expect("copied");
    }
    place
}

/// Runs a command as it is typed, in a folder; lines that end in a stroke go on in the next.
fn typed(command: &str, place: &Path) -> Output {
    let (input, call) = match command.split_once(" | ") {
        Some((echo, call)) => {
            let text = echo
                .strip_prefix("echo '")
                .and_then(|t| t.strip_suffix('\''));
            (format!("{}\n", text.expect("echo")), call)
        }
        None => (String::new(), command),
    };
    let words = call
        .strip_prefix("cargo run --release -- ")
        .or(call.strip_prefix("saltwright "));
    let words = words.unwrap_or_else(|| panic!("not run: {command}"));
    let mut child = saltwright()
        .current_dir(place)
        .env_remove("SALTWRIGHT_FOLDER")
        .env("TZ", "UTC")
        .args(words.split_whitespace().filter(|word| *word != "\\"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    let mut stdin = child.stdin.take().expect("piped");
    // A command that asks nothing may have ended before it is told.
    let _ = stdin.write_all(input.as_bytes());
    drop(stdin);
    child.wait_with_output().expect("it ends")
}

/// Runs every command of a text in order; how many lines of answers stood there. What follows a
/// command as its answer, whole or in part, is really said: every line, in order.
fn run_all(text: &str) -> usize {
    let place = place();
    let mut lines = 0;
    for told in told(text) {
        if told.command == "tests/run.sh" {
            let script = Path::new(env!("CARGO_MANIFEST_DIR")).join(told.command);
            assert!(script.exists());
            continue;
        }
        let output = typed(told.command, place.path());
        let said = stdout(&output);
        assert_eq!(
            output.status.code(),
            Some(0),
            "{}: {}",
            told.command,
            stderr(&output)
        );
        assert!(!said.is_empty(), "{}", told.command);
        let mut said = said.lines();
        let answer = told.answer.unwrap_or_default();
        for line in answer.lines().filter(|line| *line != "...") {
            assert!(
                said.any(|one| one == line),
                "{}: not said, or not here: {line}",
                told.command
            );
            lines += 1;
        }
    }
    lines
}

#[test]
fn every_command_of_the_readme_works_and_answers_as_told() {
    assert!(told(README).len() > 10);
    let lines = run_all(README);
    assert!(lines > 60, "{lines}");
}

#[test]
fn the_season_is_told_as_it_runs() {
    assert!(README.contains("docs/season.md"));
    assert!(told(SEASON).len() > 8);
    let lines = run_all(SEASON);
    assert!(lines > 70, "{lines}");
}

#[test]
fn the_first_answer_in_the_readme_is_whole() {
    let first = &told(README)[0];
    let output = typed(first.command, place().path());
    assert_eq!(
        first.answer.map(str::trim_end),
        Some(stdout(&output).trim_end())
    );
}

#[test]
fn it_opens_with_one_paragraph_that_states_the_job() {
    let first = README.split("\n\n").nth(1).expect("a paragraph");
    for words in [
        "lettuce and herbs",
        "recirculating",
        "EC or TDS meter",
        "pH meter",
        "how many grams",
    ] {
        assert!(first.replace('\n', " ").contains(words), "{words}");
    }
}
