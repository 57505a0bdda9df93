//! The README, run: every command in it works, and the answer it prints is the real one.

use crate::common::{saltwright, stdout};

const README: &str = include_str!("../README.md");

/// Blocks of a kind, in order.
fn blocks(kind: &str) -> Vec<&'static str> {
    let fence = format!("```{kind}\n");
    README
        .split(fence.as_str())
        .skip(1)
        .filter_map(|rest| rest.split("```").next())
        .map(str::trim_end)
        .collect()
}

/// A command of the README as arguments of the program under test, and what is piped into it.
fn command(block: &str) -> Option<(Vec<String>, String)> {
    let (input, call) = match block.split_once(" | ") {
        Some((echo, call)) => {
            let text = echo.strip_prefix("echo '")?.strip_suffix('\'')?;
            (format!("{text}\n"), call)
        }
        None => (String::new(), block),
    };
    let words = call
        .strip_prefix("cargo run --release -- ")
        .or(call.strip_prefix("saltwright "))?;
    Some((words.split_whitespace().map(str::to_owned).collect(), input))
}

#[test]
fn every_command_of_the_readme_works() {
    let mut ran = 0;
    // What is kept goes into a folder that vanishes.
    let place = tempfile::tempdir().expect("a folder");
    let own = place.path().join("kettle-row");
    for block in blocks("sh") {
        if block == "tests/run.sh" {
            assert!(
                std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
                    .join(block)
                    .exists()
            );
            continue;
        }
        let (arguments, input) = command(block).unwrap_or_else(|| panic!("not run: {block}"));
        let output = if input.is_empty() {
            let mut command = saltwright();
            command.env("SALTWRIGHT_FOLDER", place.path());
            for argument in &arguments {
                match argument.as_str() {
                    "kettle-row" => command.arg(&own),
                    other => command.arg(other),
                };
            }
            command.output().expect("it starts")
        } else {
            crate::common::batch(input.as_bytes())
        };
        assert_eq!(output.status.code(), Some(0), "{block}");
        assert!(!output.stdout.is_empty(), "{block}");
        ran += 1;
    }
    assert!(ran >= 4, "{ran}");
}

#[test]
fn the_answer_in_the_readme_is_the_real_one() {
    let (arguments, _) = command(blocks("sh")[0]).expect("the main job");
    let output = saltwright().args(arguments).output().expect("it starts");
    assert_eq!(blocks("text")[0], stdout(&output).trim_end());
}

/// What follows a command as its answer, whole or in part, is really said: every line, in order.
#[test]
fn every_answer_in_the_readme_is_really_said() {
    let mut told = 0;
    for block in README.split("```sh\n").skip(1) {
        let (call, rest) = block.split_once("```").expect("an end");
        let Some((between, answer)) = rest.split_once("```text\n") else {
            continue;
        };
        if between.contains("```") {
            continue;
        }
        let (arguments, _) = command(call.trim_end()).expect("a command");
        let output = saltwright().args(arguments).output().expect("it starts");
        let said = stdout(&output);
        let mut lines = said.lines();
        let (answer, _) = answer.split_once("```").expect("an end");
        for line in answer.lines().filter(|line| *line != "...") {
            assert!(
                lines.any(|one| one == line),
                "not said, or not here: {line}"
            );
            told += 1;
        }
    }
    assert!(told > 60, "{told}");
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
