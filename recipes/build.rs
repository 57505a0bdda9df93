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
        let rows: Vec<String> = files
            .iter()
            .map(|file| {
                let id = file.file_stem().unwrap_or_default().to_string_lossy();
                let text = format!("concat!(env!(\"CARGO_MANIFEST_DIR\"), \"/{path}/{id}.toml\")");
                format!("({id:?}, include_str!({text})),")
            })
            .collect();
        code.push_str("pub(super) const ");
        code.push_str(name);
        code.push_str(": &[(&str, &str)] = &[\n");
        code.push_str(&rows.join("\n"));
        code.push_str("\n];\n");
    }
    let out = env::var("OUT_DIR")?;
    fs::write(Path::new(&out).join("shipped.rs"), code)?;
    Ok(())
}
