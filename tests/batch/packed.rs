//! Compressed requests and reports: the same answers, and a run that is cut off or killed goes on.

use super::{batch, begin_and_kill, path, requests};
use crate::common::stderr;
use std::io::{Read, Write};

/// The endings, and what packs and unpacks them here.
type Pack = fn(&[u8]) -> Vec<u8>;
const ENDINGS: [(&str, Pack, Pack); 2] = [("gz", gzip, gunzip), ("zst", zstd_pack, zstd_unpack)];

fn gzip(text: &[u8]) -> Vec<u8> {
    let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    packer.write_all(text).expect("memory");
    packer.finish().expect("memory")
}

fn gunzip(bytes: &[u8]) -> Vec<u8> {
    let mut text = Vec::new();
    let mut unpacker = flate2::read::MultiGzDecoder::new(bytes);
    unpacker.read_to_end(&mut text).expect("gzip");
    text
}

fn zstd_pack(text: &[u8]) -> Vec<u8> {
    zstd::encode_all(text, 3).expect("memory")
}

fn zstd_unpack(bytes: &[u8]) -> Vec<u8> {
    zstd::decode_all(bytes).expect("zstd")
}

#[test]
fn a_compressed_file_asks_and_tells_the_same() {
    let folder = tempfile::tempdir().expect("a folder");
    let plain = path(folder.path(), "requests.jsonl");
    std::fs::write(&plain, requests(300)).expect("written");
    let whole = batch(&[&plain]).stdout;
    for (ending, pack, unpack) in ENDINGS {
        let input = path(folder.path(), &format!("requests.jsonl.{ending}"));
        // In two pieces, as a file that was added to.
        let text = requests(300);
        let (first, second) = text.as_bytes().split_at(5000);
        std::fs::write(&input, [pack(first), pack(second)].concat()).expect("written");
        let mut written = Vec::new();
        for threads in ["1", "3"] {
            let out = path(folder.path(), &format!("reports-{threads}.jsonl.{ending}"));
            let ran = batch(&[&input, "--out", &out, "--threads", threads]);
            assert_eq!(ran.status.code(), Some(0), "{}", stderr(&ran));
            written.push(std::fs::read(&out).expect("written"));
        }
        assert!(written[0] == written[1], "{ending} depends on threads");
        assert!(unpack(&written[0]) == whole, "{ending}");
        assert!(written[0].len() < whole.len() / 4, "{ending}");
    }
}

#[test]
fn a_compressed_output_that_was_cut_off_anywhere_goes_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let input = path(folder.path(), "requests.jsonl");
    std::fs::write(&input, requests(100)).expect("written");
    for (ending, _, _) in ENDINGS {
        for form in ["jsonl", "csv"] {
            let out = path(folder.path(), &format!("reports.{form}.{ending}"));
            batch(&[&input, "--out", &out]);
            let whole = std::fs::read(&out).expect("written");
            let steps = (0..whole.len()).step_by(whole.len() / 29);
            for cut in steps.chain([1, 2, 3, 5, 9, whole.len() - 1, whole.len()]) {
                std::fs::write(&out, &whole[..cut]).expect("written");
                let resumed = batch(&[&input, "--out", &out, "--resume", "--stats"]);
                let said = stderr(&resumed);
                assert_eq!(resumed.status.code(), Some(0), "{said}");
                let same = std::fs::read(&out).expect("written") == whole;
                assert!(same, "{form}.{ending} cut at {cut}: {said}");
                // 80 lines that are not blank, in blocks of 32: at most the last one is redone.
                let kept = if cut == whole.len() { "80" } else { "64" };
                let told = said.contains(&format!(" {kept} answered before"));
                assert!(cut < whole.len() - 1 || told, "{said}");
            }
        }
    }
}

#[test]
fn a_killed_run_with_a_compressed_output_goes_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let input = path(folder.path(), "requests.jsonl");
    let text = requests(600);
    std::fs::write(&input, &text).expect("written");
    for (ending, _, _) in ENDINGS {
        let out = path(folder.path(), &format!("reports.jsonl.{ending}"));
        batch(&[&input, "--out", &out]);
        let whole = std::fs::read(&out).expect("written");
        std::fs::remove_file(&out).expect("removed");
        begin_and_kill(&text, &out);
        let left = std::fs::read(&out).expect("written");
        assert!(!left.is_empty() && left.len() < whole.len());
        let resumed = batch(&[&input, "--out", &out, "--resume"]);
        assert_eq!(resumed.status.code(), Some(0), "{}", stderr(&resumed));
        assert!(std::fs::read(&out).expect("written") == whole, "{ending}");
    }
}

#[test]
fn an_output_that_is_damaged_or_of_another_kind_is_left_as_it_is() {
    let folder = tempfile::tempdir().expect("a folder");
    let input = path(folder.path(), "requests.jsonl");
    std::fs::write(&input, requests(100)).expect("written");
    for (ending, pack, _) in ENDINGS {
        let out = path(folder.path(), &format!("reports.jsonl.{ending}"));
        batch(&[&input, "--out", &out]);
        let mut damaged = std::fs::read(&out).expect("written");
        let middle = damaged.len() / 2;
        damaged[middle..middle + 40].fill(0x55);
        for left in [damaged, requests(3).into_bytes(), pack(b"half a line")] {
            std::fs::write(&out, &left).expect("written");
            let resumed = batch(&[&input, "--out", &out, "--resume"]);
            let said = stderr(&resumed);
            assert_eq!(resumed.status.code(), Some(1), "{said}");
            assert!(
                said.contains("this is damaged, or not what a run"),
                "{said}"
            );
            assert!(std::fs::read(&out).expect("there") == left, "{ending}");
        }
    }
}

#[test]
fn an_input_that_ends_too_early_is_told_behind_what_was_answered() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = requests(300);
    for (ending, pack, _) in ENDINGS {
        let input = path(folder.path(), &format!("requests.jsonl.{ending}"));
        let mut bytes = pack(text.as_bytes());
        bytes.extend(pack(text.as_bytes()));
        std::fs::write(&input, &bytes[..bytes.len() - 9]).expect("written");
        let ran = batch(&[&input]);
        assert_eq!(ran.status.code(), Some(1));
        let said = stderr(&ran);
        assert!(said.contains("cannot be read on"), "{said}");
        let lines = ran.stdout.split(|byte| *byte == b'\n').count();
        assert!(lines > 240, "{ending}: {lines}");
    }
}

#[test]
fn a_window_that_would_fill_the_memory_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let input = path(folder.path(), "requests.jsonl.zst");
    for (window, code) in [(23, 0), (24, 1)] {
        let mut packer = zstd::Encoder::new(Vec::new(), 1).expect("memory");
        packer.window_log(window).expect("a window");
        packer.write_all(requests(20).as_bytes()).expect("memory");
        std::fs::write(&input, packer.finish().expect("memory")).expect("written");
        let ran = batch(&[&input]);
        assert_eq!(ran.status.code(), Some(code), "{window}: {}", stderr(&ran));
    }
}
