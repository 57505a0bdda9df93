//! Many requests at once: order, threads, a run that is killed and goes on.

mod packed;
mod table;

use crate::common::{saltwright, stderr};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Output, Stdio};
use std::time::{Duration, Instant};

/// Requests of unlike length and trouble: formulations, predictions, lines that are none.
fn requests(count: usize) -> String {
    let line = |at: usize| match at % 5 {
        0 => format!("{{\"job\": \"formulate\", \"recipe\": \"hoagland-2\", \"id\": {at}}}"),
        1 => format!(
            "{{\"job\": \"predict\", \"id\": {at}, \"mix\": [{{\"id\": \"urea\", \"g_per_l\": 0.{at}}}]}}"
        ),
        2 => format!("{{\"job\": \"formulate\", \"recipe\": \"hoaglands-{at}\", \"id\": {at}}}"),
        3 => "not JSON at all".to_owned(),
        _ => "\n".to_owned(),
    };
    let lines: Vec<String> = (0..count).map(line).collect();
    lines.join("\n")
}

fn batch(arguments: &[&str]) -> Output {
    let mut command = saltwright();
    command.arg("batch").args(arguments).stdin(Stdio::null());
    command.output().expect("it starts")
}

fn path(folder: &Path, name: &str) -> String {
    folder.join(name).to_str().expect("UTF-8").to_owned()
}

#[test]
fn any_number_of_threads_writes_the_same_bytes() {
    let folder = tempfile::tempdir().expect("a folder");
    let input = path(folder.path(), "requests.jsonl");
    std::fs::write(&input, requests(700)).expect("written");
    let one = batch(&[&input, "--threads", "1"]);
    assert_eq!(one.status.code(), Some(0), "{}", stderr(&one));
    assert_eq!(one.stdout.split(|byte| *byte == b'\n').count(), 561);
    for threads in ["2", "4", "9"] {
        assert!(
            batch(&[&input, "--threads", threads]).stdout == one.stdout,
            "{threads}"
        );
    }
    let out = path(folder.path(), "reports.jsonl");
    let kept = batch(&[&input, "--out", &out, "--stats"]);
    assert!(std::fs::read(&out).expect("written") == one.stdout);
    let said = stderr(&kept);
    assert!(said.starts_with("280 answered, 280 refused; "), "{said}");
}

#[test]
fn a_run_that_was_cut_off_anywhere_goes_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let input = path(folder.path(), "requests.jsonl");
    let out = path(folder.path(), "reports.jsonl");
    std::fs::write(&input, requests(60)).expect("written");
    let whole = batch(&[&input]).stdout;
    for cut in (0..whole.len()).step_by(whole.len() / 23) {
        std::fs::write(&out, &whole[..cut]).expect("written");
        let resumed = batch(&[&input, "--out", &out, "--resume", "--stats"]);
        assert_eq!(resumed.status.code(), Some(0), "{}", stderr(&resumed));
        assert!(
            std::fs::read(&out).expect("written") == whole,
            "cut at {cut}"
        );
        let before = whole[..cut].split(|byte| *byte == b'\n').count() - 1;
        let told = format!("{before} answered before");
        assert!(
            before == 0 || stderr(&resumed).contains(&told),
            "{}",
            stderr(&resumed)
        );
    }
    // All of it is there: nothing is done again.
    let again = batch(&[&input, "--out", &out, "--resume", "--stats"]);
    assert!(
        stderr(&again).starts_with("0 answered, 0 refused"),
        "{}",
        stderr(&again)
    );
    assert!(std::fs::read(&out).expect("written") == whole);
}

/// Half of the requests into a file, and then the process ends without a chance to tidy up.
fn begin_and_kill(requests: &str, out: &str) {
    let mut child = saltwright()
        .args(["batch", "--out", out])
        .stdin(Stdio::piped())
        .spawn()
        .expect("it starts");
    let half: Vec<&str> = requests.split_inclusive('\n').take(400).collect();
    let stdin = child.stdin.as_mut().expect("piped");
    stdin.write_all(half.concat().as_bytes()).expect("read");
    let patience = Instant::now() + Duration::from_secs(60);
    while std::fs::metadata(out).map_or(0, |file| file.len()) == 0 {
        assert!(Instant::now() < patience, "nothing is written");
        std::thread::sleep(Duration::from_millis(5));
    }
    child.kill().expect("killed");
    child.wait().expect("ended");
}

#[test]
fn a_killed_run_goes_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let input = path(folder.path(), "requests.jsonl");
    let out = path(folder.path(), "reports.jsonl");
    let text = requests(600);
    std::fs::write(&input, &text).expect("written");
    let whole = batch(&[&input]).stdout;
    begin_and_kill(&text, &out);
    let left = std::fs::read(&out).expect("written");
    assert!(!left.is_empty() && left.len() < whole.len());
    let resumed = batch(&[&input, "--out", &out, "--resume"]);
    assert_eq!(resumed.status.code(), Some(0), "{}", stderr(&resumed));
    assert!(std::fs::read(&out).expect("written") == whole);
}

#[test]
fn whoever_waits_for_an_answer_gets_it() {
    let mut child = saltwright()
        .arg("batch")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("it starts");
    let mut stdin = child.stdin.take().expect("piped");
    let mut stdout = BufReader::new(child.stdout.take().expect("piped"));
    for at in 0..20 {
        writeln!(stdin, "{{\"job\": \"predict\", \"id\": {at}, \"mix\": []}}").expect("read");
        let mut line = String::new();
        stdout.read_line(&mut line).expect("an answer");
        assert!(line.contains(&format!("\"id\":{at},")), "{line}");
    }
    drop(stdin);
    assert!(child.wait().expect("ended").success());
}

/// What is no file on a disk takes reports, too.
#[cfg(target_os = "linux")]
#[test]
fn a_device_takes_reports() {
    let folder = tempfile::tempdir().expect("a folder");
    let input = path(folder.path(), "requests.jsonl");
    std::fs::write(&input, requests(5)).expect("written");
    let ran = batch(&[&input, "--out", "/dev/null", "--stats"]);
    assert_eq!(ran.status.code(), Some(0), "{}", stderr(&ran));
    let full = batch(&[&input, "--out", "/dev/full"]);
    assert_eq!(full.status.code(), Some(1));
    assert!(
        stderr(&full).contains("the disk is full"),
        "{}",
        stderr(&full)
    );
}

#[test]
fn requests_are_never_written_over() {
    let folder = tempfile::tempdir().expect("a folder");
    let input = path(folder.path(), "requests.jsonl");
    std::fs::write(&input, requests(5)).expect("written");
    for more in [&[][..], &["--resume"]] {
        let ran = batch(&[&[input.as_str(), "--out", &input], more].concat());
        assert_eq!(ran.status.code(), Some(1), "{}", stderr(&ran));
        assert_eq!(std::fs::read_to_string(&input).expect("there"), requests(5));
    }
}
