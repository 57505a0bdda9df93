//! Disks that are full, folders that may not be written to, files that are something else.

use super::{done, entries, journal, journal_in, refused};
use crate::common::{saltwright, stderr};
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

/// Runs `journal add` in a process whose files may not grow beyond so many KiB.
#[cfg(unix)]
fn add_within(folder: &Path, kib: u64) -> Output {
    let program = saltwright().get_program().to_owned();
    // POSIX: `ulimit -f` counts units of 512 bytes.
    let line = format!("ulimit -f {}; exec \"$0\" \"$@\"", kib * 2);
    Command::new("sh")
        .args(["-c", &line])
        .arg(program)
        .args([
            "journal", "add", "--system", "tank", "--ec", "1.4", "--note", "more",
        ])
        .current_dir(folder)
        .output()
        .expect("it starts")
}

#[cfg(unix)]
#[test]
fn a_full_disk_is_said_and_loses_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let output = add_within(at, 8);
    assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
    assert!(
        stderr(&output).contains("journal.db: "),
        "{}",
        stderr(&output)
    );
    assert_eq!(
        fs::read_dir(at).expect("a folder").count(),
        0,
        "no half-made journal is left"
    );
    for n in 0..40 {
        done(
            at,
            &[
                "add",
                "--system",
                "tank",
                "--ec",
                "1.4",
                "--note",
                &format!("{n} ").repeat(300),
            ],
        );
    }
    let before = entries(at);
    let mut refusals = 0;
    for kib in [1, 4, 8, 16, 24, 32, 48, 64] {
        let output = add_within(at, kib);
        let said = stderr(&output);
        if output.status.success() {
            continue;
        }
        refusals += 1;
        assert_eq!(output.status.code(), Some(1), "{kib} KiB: {said}");
        assert!(
            said.contains("what was noted before is safe"),
            "{kib} KiB: {said}"
        );
    }
    assert!(refusals >= 4, "{refusals}");
    let after = entries(at);
    assert_eq!(
        before,
        after[..before.len()],
        "all that stood there still does"
    );
    assert_eq!(after.len(), before.len() + 8 - refusals);
    done(at, &["add", "--ec", "1.5"]);
}

/// What is typed on a disk of a few hundred kilobytes: notes until one is refused, then room is made.
/// 77 where this user may mount no disk.
#[cfg(target_os = "linux")]
const SMALL_DISK: &str = r#"
program=$1; disk=$2; note=$3
mount -t tmpfs -o size=256k tmpfs "$disk" || exit 77
cd "$disk" && dd if=/dev/zero of=room bs=1k count=64 2>/dev/null
acknowledged=0
while [ $acknowledged -lt 400 ]; do
    said=$("$program" journal add --system tank --ec 1.4 --note "$acknowledged $note" 2>&1)
    code=$?
    [ $code -eq 0 ] || break
    acknowledged=$((acknowledged + 1))
done
echo "$acknowledged $code $said"
"$program" journal list --json | grep -c '"entry"'
rm room
"$program" journal add --ec 1.5 >/dev/null && "$program" journal list --json | grep -c '"entry"'
"#;

/// A disk that is really full, where this user may mount one; elsewhere the limit of a file's size
/// above stands for it.
#[cfg(target_os = "linux")]
#[test]
fn a_disk_without_room_loses_nothing() {
    let disk = tempfile::tempdir().expect("a folder");
    // The mount is seen by this one process and ends with it.
    let run = Command::new("unshare")
        .args(["--map-root-user", "--mount", "sh", "-c", SMALL_DISK, "sh"])
        .arg(saltwright().get_program())
        .arg(disk.path())
        .arg("a note of some length. ".repeat(40))
        .env_remove("SALTWRIGHT_FOLDER")
        .output();
    let Some(output) = run.ok().filter(|output| output.status.code() != Some(77)) else {
        println!("not run: this user may mount no disk");
        return;
    };
    let said = crate::common::stdout(&output);
    let lines: Vec<&str> = said.lines().collect();
    let [first, kept, after] = lines.as_slice() else {
        panic!("{said}{}", stderr(&output));
    };
    let (acknowledged, refusal) = first.split_once(' ').expect("a count");
    let acknowledged: usize = acknowledged.parse().expect("a count");
    println!("{acknowledged} notes, then: {refusal}");
    assert!((10..400).contains(&acknowledged), "{said}");
    assert!(refusal.starts_with("1 error: "), "{said}");
    for words in ["disk", "what was noted before is safe", "note it again"] {
        assert!(refusal.contains(words), "{words}: {said}");
    }
    assert_eq!(kept.parse(), Ok(acknowledged), "{said}");
    assert_eq!(after.parse(), Ok(acknowledged + 1), "room was made: {said}");
}

/// A user without rights, where the tests run as one who has them all.
#[cfg(unix)]
fn without_rights(folder: &Path, arguments: &[&str]) -> Output {
    use std::os::unix::fs::PermissionsExt;
    use std::os::unix::process::CommandExt;
    const NOBODY: u32 = 65_534;
    let mut command = journal_in(folder);
    let mut copy = None;
    if fs::metadata("/proc/self").is_ok_and(|me| std::os::unix::fs::MetadataExt::uid(&me) == 0) {
        // The program may lie where nobody else may look.
        let place = tempfile::tempdir().expect("a folder");
        fs::set_permissions(place.path(), fs::Permissions::from_mode(0o755)).expect("set");
        let program = place.path().join("saltwright");
        fs::copy(command.get_program(), &program).expect("copied");
        let mut other = Command::new(program);
        other
            .current_dir(folder)
            .env("TZ", "UTC")
            .arg("journal")
            .uid(NOBODY);
        command = other;
        copy = Some(place);
    }
    command.args(arguments);
    // Another test that starts a program at this moment holds the copy open for an instant.
    let output = loop {
        match command.output() {
            Err(busy) if busy.kind() == std::io::ErrorKind::ExecutableFileBusy => {
                std::thread::sleep(std::time::Duration::from_millis(20));
            }
            output => break output.expect("it starts"),
        }
    };
    drop(copy);
    output
}

#[cfg(unix)]
#[test]
fn a_folder_that_may_not_be_written_to_can_still_be_read() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    done(at, &["add", "--system", "tank", "--ec", "1.4"]);
    let mode = |mode| fs::set_permissions(at, fs::Permissions::from_mode(mode)).expect("set");
    fs::set_permissions(at.join("journal.db"), fs::Permissions::from_mode(0o444)).expect("set");
    mode(0o555);
    let listed = without_rights(at, &["list", "--json"]);
    let written = without_rights(at, &["add", "--ec", "1.5"]);
    let nowhere = {
        let empty = tempfile::tempdir().expect("a folder");
        fs::set_permissions(empty.path(), fs::Permissions::from_mode(0o555)).expect("set");
        without_rights(empty.path(), &["add", "--system", "tank", "--ec", "1.5"])
    };
    mode(0o755);
    assert_eq!(
        super::rows(&crate::common::stdout(&listed)).len(),
        1,
        "{}",
        stderr(&listed)
    );
    for output in [written, nowhere] {
        let said = stderr(&output);
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(
            said.contains("written to") && said.contains("who may write"),
            "{said}"
        );
    }
    assert_eq!(entries(at).len(), 1);
}

#[test]
fn files_that_are_no_journal_are_left_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("journal.db");
    let other = rusqlite::Connection::open(&path).expect("opens");
    other
        .execute_batch("CREATE TABLE songs (name TEXT);")
        .expect("made");
    drop(other);
    let before = fs::read(&path).expect("read");
    for arguments in [
        &["list"][..],
        &["add", "--system", "a", "--ph", "6"],
        &["undo"],
    ] {
        let said = refused(folder.path(), arguments);
        assert!(said.contains("this file is no journal"), "{said}");
    }
    assert!(
        fs::read(&path).expect("read") == before,
        "not a byte is touched"
    );
    fs::write(&path, "").expect("written");
    let said = refused(folder.path(), &["add", "--system", "a", "--ph", "6"]);
    assert!(said.contains("this file is empty"), "{said}");
    fs::remove_file(&path).expect("removed");
    fs::create_dir(&path).expect("made");
    let said = refused(folder.path(), &["list"]);
    assert!(said.contains("this is a folder"), "{said}");
}

#[test]
fn the_folder_is_named_by_argument_or_environment() {
    let [here, named, variable] = [(); 3].map(|()| tempfile::tempdir().expect("a folder"));
    let add = |more: &[&str], variable: Option<&Path>| {
        let mut command = journal_in(here.path());
        command
            .args(["add", "--system", "tank", "--ph", "6"])
            .args(more);
        command.envs(variable.map(|path| ("SALTWRIGHT_FOLDER", path)));
        let output = command.output().expect("it starts");
        assert!(output.status.success(), "{}", stderr(&output));
    };
    let argument = named.path().to_str().expect("UTF-8");
    add(&["--folder", argument], Some(variable.path()));
    add(&[], Some(variable.path()));
    add(&[], None);
    for folder in [&here, &named, &variable] {
        assert_eq!(entries(folder.path()).len(), 1);
    }
    let lost = journal(
        here.path(),
        &["--folder", "nowhere", "add", "--system", "a", "--ph", "6"],
    );
    assert!(
        stderr(&lost).contains("there is no such folder"),
        "{}",
        stderr(&lost)
    );
}
