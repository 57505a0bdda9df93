//! Faults gathered while one source is read.

use super::{Fault, Problem};

/// Faults as they are met while reading one source: reading goes on, so that all are named at
/// once.
#[derive(Debug, Default)]
pub struct Faults {
    file: Option<String>,
    list: Vec<Fault>,
    /// Those that are not in the list.
    untold: usize,
}

/// Most faults of one source that are told: nobody reads on, and a flood of them would be an answer
/// many times as large as what was sent. Common practice, no source.
const MOST_TOLD: usize = 200;

impl Faults {
    /// For text that comes from a file of that name.
    pub fn in_file(file: &str) -> Self {
        Self {
            file: Some(file.to_owned()),
            ..Self::default()
        }
    }

    /// Notes a fault.
    pub fn add(&mut self, line: Option<usize>, field: impl Into<String>, problem: Problem) {
        let file = self.file.clone();
        let field = field.into();
        self.note(Fault {
            file,
            line,
            field,
            problem,
        });
    }

    fn note(&mut self, fault: Fault) {
        if let Problem::More { count } = fault.problem {
            self.untold += count;
        } else if self.is_full() {
            self.untold += 1;
        } else {
            self.list.push(fault);
        }
    }

    /// True once no more faults are told, only counted.
    pub fn is_full(&self) -> bool {
        self.list.len() >= MOST_TOLD
    }

    /// Takes over the faults of another source.
    pub fn extend(&mut self, others: impl IntoIterator<Item = Fault>) {
        for fault in others {
            self.note(fault);
        }
    }

    /// How many so far.
    pub fn len(&self) -> usize {
        self.list.len() + self.untold
    }

    /// True while nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// The value where nothing was wrong, else all faults.
    pub fn finish<T>(self, value: Option<T>) -> Result<T, Vec<Fault>> {
        match value {
            Some(value) if self.list.is_empty() => Ok(value),
            _ => Err(self.into_list()),
        }
    }

    /// The faults themselves.
    pub fn into_list(mut self) -> Vec<Fault> {
        if self.untold > 0 {
            self.list.push(Fault {
                file: self.file,
                line: None,
                field: String::new(),
                problem: Problem::More { count: self.untold },
            });
        }
        self.list
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flood_of_faults_is_counted_and_not_told() {
        let mut faults = Faults::in_file("mine.csv");
        for line in 0..1000 {
            let before = faults.len();
            faults.add(Some(line), "K", Problem::Negative { value: -1.0 });
            assert_eq!(faults.len(), before + 1);
        }
        assert!(!faults.is_empty() && faults.is_full());
        let mut others = Faults::default();
        others.extend(faults.into_list());
        assert_eq!(others.len(), 1000);
        let told = others.into_list();
        assert_eq!(told.len(), MOST_TOLD + 1);
        let last = told[MOST_TOLD].to_string();
        assert!(last.contains("not told here: 800"), "{last}");
    }
}
