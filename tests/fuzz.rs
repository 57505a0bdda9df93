//! The seeds of the fuzz targets, replayed: what was once found stays mended, on stable Rust.

#[path = "fuzz/laws.rs"]
mod laws;

use std::fs;
use std::path::Path;

#[test]
fn every_seed_keeps_its_law() {
    let seeds = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/seeds");
    for (name, law) in laws::LAWS {
        let files = fs::read_dir(seeds.join(name)).expect("a folder of seeds");
        let mut count = 0;
        for file in files {
            let path = file.expect("a seed").path();
            let bytes = fs::read(&path).expect("readable");
            let kept = std::panic::catch_unwind(|| law(&bytes));
            assert!(kept.is_ok(), "{} breaks its law", path.display());
            count += 1;
        }
        assert!(count >= 3, "{name}: {count} seeds");
    }
}
