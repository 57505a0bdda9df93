//! What several test files need.

use saltwright_recipes::Library;
use serde_json::Value;
use std::io::Write;
use std::process::{Command, Output, Stdio};
use std::sync::LazyLock;

/// The program under test.
pub fn saltwright() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_saltwright"));
    command.current_dir(env!("CARGO_MANIFEST_DIR"));
    command
}

/// Runs it with these arguments.
pub fn run(arguments: &[&str]) -> Output {
    saltwright().args(arguments).output().expect("it starts")
}

/// Standard output as text.
pub fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("UTF-8")
}

/// Standard error as text.
pub fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("UTF-8")
}

/// Runs `batch` on these bytes.
pub fn batch(input: &[u8]) -> Output {
    let mut child = saltwright()
        .arg("batch")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    let mut stdin = child.stdin.take().expect("piped");
    let bytes = input.to_vec();
    let writer = std::thread::spawn(move || stdin.write_all(&bytes));
    let output = child.wait_with_output().expect("it ends");
    writer.join().expect("no panic").expect("all is read");
    output
}

/// What is shipped.
pub fn library() -> &'static Library {
    static LIBRARY: LazyLock<Library> =
        LazyLock::new(|| Library::shipped().expect("the shipped library is sound"));
    &LIBRARY
}

/// The answer of the library to one request.
pub fn answer(request: &Value) -> Value {
    let answer = saltwright_solver::answer(&request.to_string(), library());
    serde_json::to_value(&answer).expect("a report is JSON")
}

/// A number in a report, by path.
pub fn number(value: &Value, path: &str) -> f64 {
    value
        .pointer(path)
        .and_then(Value::as_f64)
        .unwrap_or_else(|| panic!("{path} in {value}"))
}

/// What a nutrient of a report comes to.
pub fn delivered(report: &Value, nutrient: &str) -> f64 {
    row(report, nutrient)["delivered"]
        .as_f64()
        .expect("a number")
}

/// The row of a nutrient in a report.
pub fn row<'a>(report: &'a Value, nutrient: &str) -> &'a Value {
    report["nutrients"]
        .as_array()
        .and_then(|rows| rows.iter().find(|row| row["nutrient"] == nutrient))
        .unwrap_or_else(|| panic!("{nutrient} in {report}"))
}

/// Grams per litre of a fertilizer in a report's mix; 0 where it is not in it.
pub fn grams(report: &Value, id: &str) -> f64 {
    report["mix"]
        .as_array()
        .and_then(|rows| rows.iter().find(|row| row["id"] == id))
        .map_or(0.0, |row| row["g_per_l"].as_f64().expect("a number"))
}

/// The main job on shipped data.
pub const LETTUCE: [&str; 4] = [
    "formulate",
    "sonneveld-modified-lettuce",
    "--water",
    "larch-hollow-spring",
];

/// The main job with more arguments.
pub fn with<'a>(more: &[&'a str]) -> Vec<&'a str> {
    LETTUCE.iter().chain(more).copied().collect()
}

/// Every command that `--help` lists, with those below it, as the words that are typed.
pub fn commands() -> Vec<Vec<String>> {
    fn below(words: &[String], found: &mut Vec<Vec<String>>) {
        let output = saltwright().args(words).arg("--help").output();
        let told = stdout(&output.expect("it starts"));
        let listed = told.split_once("Commands:\n").map_or("", |(_, rest)| rest);
        let listed = listed.split("\n\n").next().unwrap_or_default();
        let names = listed
            .lines()
            .filter(|line| line.starts_with("  ") && !line.starts_with("   "));
        for name in names.filter_map(|line| line.split_whitespace().next()) {
            let words = [words, &[name.to_owned()]].concat();
            below(&words, found);
            found.push(words);
        }
    }
    let mut found = Vec::new();
    below(&[], &mut found);
    assert!(found.len() >= 9, "{found:?}");
    found
}

/// The refill of the demonstration's two weeks (invented; tests/data names no measurement).
pub const REFILL: [&str; 6] = [
    "refill",
    "sonneveld-modified-lettuce",
    "--water",
    "larch-hollow-spring",
    "--readings",
    "recipes/data/demo/readings.csv",
];

/// The report of [`REFILL`] with more arguments.
pub fn demo_refill(more: &[&str]) -> Value {
    let output = run(&[&REFILL[..], &["--json"], more].concat());
    serde_json::from_str(&stdout(&output)).expect("JSON")
}

/// Uniform numbers in (-1, 1): a splitmix64 sequence (Steele, Lea and Flood 2014), the same in
/// every run.
pub struct Uniform(u64);

impl Uniform {
    pub fn seeded(seed: u64) -> Self {
        Self(seed)
    }

    pub fn draw(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        #[allow(clippy::cast_precision_loss)]
        let unit = (z >> 11) as f64 / (1_u64 << 53) as f64;
        2.0 * unit - 1.0
    }
}
