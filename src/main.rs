//! temp
use std::io::BufRead;
fn main() {
    let lib = saltwright_recipes::Library::shipped().unwrap();
    for line in std::io::stdin().lock().lines() {
        let a = saltwright_solver::answer(&line.unwrap(), &lib);
        println!("{}", serde_json::to_string(&a).unwrap());
    }
}
