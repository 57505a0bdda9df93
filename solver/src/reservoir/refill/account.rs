//! What came into the tank and what left it, from reading to reading.

use super::super::liquid::Liquid;
use super::request::{RefillRequest, TankReading, What};
use crate::chemistry::NotConverged;
use crate::readings::Source;

/// Where the account stands at a reading: the tank holds (brought - uptake x drunk)/litres.
#[derive(Clone, Copy, Debug)]
pub(super) struct Entry {
    /// All that came in and was not let out, mmol and mg.
    pub brought: Liquid,
    /// Litres drunk, less the part whose lack was let out again.
    pub drunk_l: f64,
    /// Level.
    pub litres: f64,
    /// Position of its reading.
    pub reading: usize,
}

/// The account.
#[derive(Clone, Debug, Default)]
pub(super) struct Account {
    /// One entry a reading.
    pub entries: Vec<Entry>,
    /// All that left by plants and air, litres.
    pub drunk_l: f64,
    /// The most that a level rose with nothing said to have been added, litres.
    pub unexplained_l: f64,
}

/// Keeps the account from what the tank held at the first reading.
pub(super) fn keep(
    request: &RefillRequest,
    start: &Liquid,
    water: &Liquid,
    feed: &Liquid,
) -> Result<Account, NotConverged> {
    let mut account = Account::default();
    let Some(first) = request.readings.first() else {
        return Ok(account);
    };
    let mut entry = Entry {
        brought: *start * first.litres,
        drunk_l: 0.0,
        litres: first.litres,
        reading: 0,
    };
    account.entries.push(entry);
    let mut before = first.at.day;
    for (position, reading) in request.readings.iter().enumerate().skip(1) {
        let between = |day: f64| day > before && day <= reading.at.day;
        for added in request.added.iter().filter(|added| between(added.at.day)) {
            entry.add(&added.what, water, feed)?;
        }
        let drunk = entry.litres - reading.litres;
        account.drunk_l += drunk;
        account.unexplained_l = account.unexplained_l.max(-drunk);
        entry.drunk_l += drunk;
        entry.litres = reading.litres;
        entry.reading = position;
        account.entries.push(entry);
        before = reading.at.day;
    }
    Ok(account)
}

impl Entry {
    fn add(&mut self, what: &What, water: &Liquid, feed: &Liquid) -> Result<(), NotConverged> {
        let litres = match what {
            What::Water(litres, None) => {
                self.brought += *water * *litres;
                *litres
            }
            What::Water(litres, Some(other)) => {
                self.brought += Liquid::of_water(&Source::new(other)?) * *litres;
                *litres
            }
            What::Feed(litres) => {
                self.brought += *feed * *litres;
                *litres
            }
            What::Stock(litres, mix) => {
                self.brought += Liquid::of_mix(mix) * *litres;
                self.brought += *water * *litres;
                *litres
            }
            What::Dose(dose, litres) => {
                self.brought += Liquid::of_mix(std::slice::from_ref(dose));
                *litres
            }
            What::Drained(litres) => {
                let left = (1.0 - litres / self.litres).max(0.0);
                self.brought = self.brought * left;
                self.drunk_l *= left;
                -litres.min(self.litres)
            }
        };
        self.litres += litres;
        Ok(())
    }

    /// The reading of this entry.
    pub fn shown<'r>(&self, request: &'r RefillRequest) -> Option<&'r TankReading> {
        request.readings.get(self.reading)
    }
}
