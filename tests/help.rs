//! What people expect of a program: completions, manual pages, topics, a quiet end.

use crate::common::{commands, run, saltwright, stderr, stdout};
use saltwright_fertilizers::{Element, Formula};
use std::fs;
use std::process::{Command, Output, Stdio};

/// What bash offers for the last of these words, by the script that the program writes.
#[cfg(unix)]
fn offered(words: &[&str]) -> Vec<String> {
    let folder = tempfile::tempdir().expect("a folder");
    let script = folder.path().join("saltwright.bash");
    fs::write(&script, run(&["completions", "bash"]).stdout).expect("written");
    let last = words.last().expect("a word");
    let before = words.get(words.len().wrapping_sub(2)).unwrap_or(&"");
    let ask = format!(
        "source '{}'; COMP_WORDS=({}); COMP_CWORD={}; _saltwright saltwright '{last}' '{before}'; \
         printf '%s\\n' \"${{COMPREPLY[@]}}\"",
        script.display(),
        words.join(" "),
        words.len() - 1,
    );
    let output = Command::new("bash").args(["--norc", "-c", &ask]).output();
    let output = output.expect("bash starts");
    assert_eq!(stderr(&output), "");
    let offers = stdout(&output);
    let offers = offers.lines().filter(|offer| !offer.is_empty());
    offers.map(str::to_owned).collect()
}

#[cfg(unix)]
#[test]
fn bash_completes_commands_options_and_shipped_names() {
    let all = commands();
    let offers = offered(&["saltwright", "\"\""]);
    for command in all.iter().filter(|command| command.len() == 1) {
        assert!(offers.contains(&command[0]), "{command:?}: {offers:?}");
    }
    for (words, wanted) in [
        (vec!["saltwright", "form"], vec!["formulate"]),
        (
            vec!["saltwright", "formulate", "hoagland-"],
            vec!["hoagland-1", "hoagland-2"],
        ),
        (
            vec!["saltwright", "predict", "--water", "rain-"],
            vec!["rain-barrel"],
        ),
        (
            vec!["saltwright", "formulate", "--micros", "micros-le"],
            vec!["micros-leafy"],
        ),
        (
            vec!["saltwright", "formulate", "--acid", "nitric-acid-3"],
            vec!["nitric-acid-38"],
        ),
        (vec!["saltwright", "help", "alk"], vec!["alkalinity"]),
        (vec!["saltwright", "predict", "--det"], vec!["--detail"]),
    ] {
        let offers = offered(&words);
        for name in wanted {
            assert!(
                offers.iter().any(|offer| offer == name),
                "{words:?}: {offers:?}"
            );
        }
    }
    assert!(offered(&["saltwright", "formulate", "no-such"]).is_empty());
}

#[test]
fn every_shell_is_given_every_command_and_shipped_recipe() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let output = run(&["completions", shell]);
        assert_eq!(output.status.code(), Some(0), "{shell}");
        let script = stdout(&output);
        for command in commands() {
            assert!(
                script.contains(&command[command.len() - 1]),
                "{shell}: {command:?}"
            );
        }
        // What these two are made for does not offer names of values.
        if !["powershell", "elvish"].contains(&shell) {
            assert!(script.contains("yamazaki-lettuce"), "{shell}");
        }
    }
    let fish = stdout(&run(&["completions", "fish"]));
    for (command, name) in [
        ("formulate", "hoagland-2"),
        ("help", "ppm"),
        ("water", "rain-barrel"),
    ] {
        let line = format!("__fish_saltwright_using_subcommand {command}\" -a {name} ");
        assert!(fish.contains(&line), "{line}");
    }
    assert_eq!(run(&["completions", "tcsh"]).status.code(), Some(2));
}

#[test]
fn manual_pages_name_every_option_and_hold_every_topic() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = run(&["man", folder.path().to_str().expect("UTF-8")]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let page = |name: &str| {
        let (_, section) = name.rsplit_once('.').expect("a section");
        let path = folder.path().join(format!("man{section}")).join(name);
        let page = fs::read_to_string(path).unwrap_or_else(|_| panic!("{name}"));
        // What roff would read otherwise is written so that it stands for itself.
        page.replace("\\-", "-").replace("\\&", "")
    };
    for command in commands() {
        let words: Vec<&str> = command.iter().map(String::as_str).collect();
        let manual = page(&format!("saltwright-{}.1", words.join("-")));
        let told = stdout(&run(&[&words[..], &["--help"]].concat()));
        let options = told
            .split_whitespace()
            .filter(|word| word.starts_with("--"));
        for option in
            options.map(|word| word.trim_matches(|c: char| !c.is_alphanumeric() && c != '-'))
        {
            assert!(manual.contains(option), "{command:?} {option}");
        }
        for section in [".TH ", ".SH NAME", ".SH SYNOPSIS", ".SH \"EXIT STATUS\""] {
            assert!(manual.contains(section), "{command:?} {section}\n{manual}");
        }
    }
    let whole = page("saltwright.1");
    let topics = page("saltwright-topics.7");
    for command in commands().iter().filter(|command| command.len() == 1) {
        assert!(whole.contains(&command[0]) && topics.contains(&command[0]));
    }
    let short = stdout(&run(&["help"]));
    let (_, names) = short.split_once("explains:").expect("topics");
    for topic in names.split_whitespace() {
        assert!(
            topics.contains(&format!(".SH {}", topic.to_uppercase())),
            "{topic}"
        );
        let text = stdout(&run(&["help", topic]));
        // The page holds the lines of the topic as they are.
        let plain = text
            .lines()
            .filter(|line| !line.contains(['\\', '\'', '"']));
        for line in plain.filter(|line| !line.is_empty()) {
            assert!(topics.lines().any(|held| held == line), "{topic}: {line}");
        }
    }
}

#[test]
fn manual_pages_go_into_a_folder_that_is_there() {
    let folder = tempfile::tempdir().expect("a folder");
    let missing = folder.path().join("missing");
    let output = run(&["man", missing.to_str().expect("UTF-8")]);
    assert_eq!(output.status.code(), Some(1));
    let told = stderr(&output);
    assert!(
        told.contains("there is no such folder to write to"),
        "{told}"
    );
    assert_eq!(stdout(&output), "");
}

/// Commands with short and long answers, and one that fails.
const ASKED: &[&[&str]] = &[
    &[],
    &["--help"],
    &["--version"],
    &["help", "units"],
    &["formulate", "--help"],
    &["list", "recipes"],
    &["list", "fertilizers", "--csv"],
    &["formulate", "hoagland-2", "--tank", "120L"],
    &["formulate", "hoagland-2", "--json"],
    &[
        "stock",
        "potassium-nitrate=0.5",
        "--ratio",
        "100",
        "--stock",
        "20L",
        "--weigh",
    ],
    &["completions", "zsh"],
    &["formulate", "no-such-recipe"],
    &["brew"],
];

#[test]
fn version_tells_how_it_was_built() {
    let version = concat!("saltwright ", env!("CARGO_PKG_VERSION"));
    assert_eq!(stdout(&run(&["-V"])).trim_end(), version);
    let told = stdout(&run(&["--version"]));
    let lines: Vec<&str> = told.lines().collect();
    assert_eq!(lines[0], version);
    let fact = |name: &str| {
        let line = lines.iter().find_map(|line| line.strip_prefix(name));
        line.unwrap_or_else(|| panic!("{name}: {told}")).trim()
    };
    // The release script names the commit; elsewhere none is claimed.
    let commit = option_env!("SALTWRIGHT_COMMIT").unwrap_or("unknown");
    assert_eq!(fact("commit "), commit);
    assert!(fact("target ").contains(std::env::consts::ARCH), "{told}");
    let profile = if cfg!(debug_assertions) {
        "debug"
    } else {
        "release"
    };
    assert_eq!(fact("profile "), profile);
    assert!(fact("compiler ").starts_with("rustc "), "{told}");
}

/// Asked the same, with these variables set and `NO_COLOR` as given.
fn coloured(arguments: &[&str], variables: &[(&str, &str)]) -> Output {
    let mut command = saltwright();
    command.env_remove("NO_COLOR").env("TERM", "xterm-256color");
    command.args(arguments).envs(variables.iter().copied());
    command.output().expect("it starts")
}

#[test]
fn no_colour_is_written_whatever_the_terminal_says() {
    for arguments in ASKED {
        let forced = [
            ("CLICOLOR_FORCE", "1"),
            ("FORCE_COLOR", "1"),
            ("COLUMNS", "40"),
        ];
        let plain = coloured(arguments, &[("NO_COLOR", "1")]);
        let other = coloured(arguments, &forced);
        for output in [&plain, &other] {
            let all = [&output.stdout[..], &output.stderr[..]].concat();
            assert!(!all.contains(&0x1b), "{arguments:?}");
            assert!(!all.is_empty(), "{arguments:?}");
        }
        // A pager, a narrow terminal and a wide one are given the same lines.
        assert_eq!(plain, other, "{arguments:?}");
    }
}

#[test]
fn a_reader_that_goes_away_is_no_fault() {
    for arguments in ASKED.iter().take(ASKED.len() - 2) {
        let mut command = saltwright();
        command.args(*arguments).stdin(Stdio::null());
        command.stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("it starts");
        drop(child.stdout.take());
        let output = child.wait_with_output().expect("it ends");
        assert_eq!(stderr(&output), "", "{arguments:?}");
        assert_eq!(output.status.code(), Some(0), "{arguments:?}");
    }
}

/// A full disk is not taken for a reader that went away.
#[cfg(target_os = "linux")]
#[test]
fn what_could_not_be_written_is_said() {
    for arguments in [&["--help"][..], &["help"], &["list", "waters"]] {
        let full = fs::File::create("/dev/full").expect("a device");
        let output = saltwright().args(arguments).stdout(full).output();
        let output = output.expect("it starts");
        assert_eq!(output.status.code(), Some(1), "{arguments:?}");
        assert!(
            stderr(&output).contains("the disk is full"),
            "{arguments:?}"
        );
    }
}

/// The figures of a line of a topic that holds these words.
fn figures(topic: &str, words: &str) -> Vec<f64> {
    let text = stdout(&run(&["help", topic]));
    let line = text.lines().find(|line| line.contains(words));
    let line = line.unwrap_or_else(|| panic!("{topic}: {words}"));
    let numbers = line.split(|c: char| !(c.is_ascii_digit() || c == '.'));
    numbers.filter_map(|number| number.parse().ok()).collect()
}

fn assert_near(told: f64, exact: f64, what: &str) {
    assert!(
        (told - exact).abs() <= 0.005 * exact,
        "{what}: {told}, exactly {exact}"
    );
}

/// Figures of topics, worked out again from atomic weights (CIAAW, as the formulas use them).
#[test]
fn topics_tell_the_figures_of_the_trade() {
    let weight = |formula: &str| match Element::from_symbol(formula) {
        Some(element) => element.atomic_weight(),
        None => Formula::parse(formula).expect(formula).molar_mass(),
    };
    for (oxide, element, atoms) in [
        ("P2O5", "P", 2.0),
        ("K2O", "K", 2.0),
        ("CaO", "Ca", 1.0),
        ("MgO", "Mg", 1.0),
        ("SO3", "S", 1.0),
        ("SiO2", "Si", 1.0),
    ] {
        let text = stdout(&run(&["help", "reading-labels"]));
        let words: Vec<&str> = text.split_whitespace().collect();
        let factor = words.windows(3).find(|words| words[..2] == [oxide, "x"]);
        let factor = factor.expect(oxide)[2];
        let share = atoms * weight(element) / weight(oxide);
        assert_near(factor.parse().expect("a number"), share, oxide);
    }
    // 15 %, 5 % P2O5 and 15 % K2O at 1 g/L, 10 mg/L a percent.
    let told = figures("reading-labels", "mg/L N, 21.8");
    assert_near(told[0], 150.0, "N");
    assert_near(told[1], 50.0 * 2.0 * weight("P") / weight("P2O5"), "P");
    assert_near(told[2], 150.0 * 2.0 * weight("K") / weight("K2O"), "K");
    // 1 meq of calcium carbonate is half a mole; a German degree is 10 mg/L CaO.
    let told = figures("alkalinity", "1 meq/L =");
    assert_near(told[1], weight("CaCO3") / 2.0, "mg/L CaCO3");
    let bicarbonate = weight("H") + weight("CaCO3") - weight("Ca");
    assert_near(told[3], bicarbonate, "mg/L HCO3");
    assert_near(told[5], weight("CaO") / 2.0 / 10.0, "German degrees");
    assert_near(told[6], weight("CaCO3") / 2.0 / 10.0, "French degrees");
    let gypsum = 2.02 * weight("Ca") / weight("CaSO4");
    assert_near(
        figures("calcium", "0.595 g")[0],
        gypsum,
        "calcium of gypsum",
    );
    assert_near(
        figures("alkalinity", "nitric acid")[0],
        weight("N"),
        "N of nitric acid",
    );
    assert_near(
        figures("alkalinity", "sulfuric acid")[0],
        weight("S") / 2.0,
        "S of sulfuric",
    );
}

/// The table of pens, by the factors in its own head.
#[test]
fn pens_show_the_ec_times_their_scale() {
    let text = stdout(&run(&["help", "ppm"]));
    let table = text
        .lines()
        .skip_while(|line| !line.contains("500 scale"))
        .skip(1);
    let rows = table.take_while(|line| !line.is_empty());
    let mut count = 0;
    for row in rows {
        let cells: Vec<f64> = row
            .split_whitespace()
            .map(|cell| cell.parse().expect("a number"))
            .collect();
        for (cell, scale) in cells[1..].iter().zip([500.0, 640.0, 700.0, 10.0]) {
            assert!((cell - cells[0] * scale).abs() < 1e-9, "{row}");
        }
        count += 1;
    }
    assert_eq!(count, 4);
}
