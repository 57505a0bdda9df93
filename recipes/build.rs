//! Lists the files of `data/recipes` and `data/waters`, so that adding a recipe is adding a file.

use std::path::Path;
use std::{env, fs};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut code = String::new();
    for (folder, name) in [("recipes", "RECIPES"), ("waters", "WATERS")] {
        let path = format!("data/{folder}");
        println!("cargo::rerun-if-changed={path}");
        let mut files: Vec<_> = fs::read_dir(&path)?
            .map(|entry| entry.map(|entry| entry.path()))
            .collect::<Result<_, _>>()?;
        files.retain(|file| file.extension().is_some_and(|ending| ending == "toml"));
        files.sort();
        code.push_str(&format!("pub(super) const {name}: &[(&str, &str)] = &[\n"));
        for file in &files {
            let id = file.file_stem().unwrap_or_default().to_string_lossy();
            let full = fs::canonicalize(file)?;
            code.push_str(&format!("({id:?}, include_str!({full:?})),\n"));
        }
        code.push_str("];\n");
    }
    let out = env::var("OUT_DIR")?;
    fs::write(Path::new(&out).join("shipped.rs"), code)?;
    Ok(())
}
