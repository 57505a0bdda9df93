//! The steps of a correction followed by hand: a mass balance written apart from the program.
//!
//! The chemistry (species, activity, conductivity) is the same on both sides; it is held against
//! standards and another program elsewhere. What is tested here is everything around it: what the
//! tank is taken to hold, how much of what goes in, in which order, and whether it fits.

use saltwright_recipes::Library;
use saltwright_solver::chemistry::acid::{carbon_mmol_l, source_water};
use saltwright_solver::chemistry::conductivity::conductivity;
use saltwright_solver::chemistry::{
    Carbon, Component, Conditions, LOG_PCO2_AIR, Protons, Totals, speciate,
};
use serde_json::Value;

const AIR: Carbon = Carbon::Open(LOG_PCO2_AIR);

/// A tank: litres, and mmol per litre.
#[derive(Clone, Copy)]
pub struct Tank {
    pub litres: f64,
    pub holds: Totals,
    pub celsius: f64,
}

impl Tank {
    fn at(&self) -> Conditions {
        Conditions::at(self.celsius)
    }

    pub fn ec(&self) -> f64 {
        ec(&self.holds)
    }

    /// pH and buffer capacity, mol/kg.
    pub fn ph(&self) -> (f64, f64) {
        let found = speciate(
            &self.at(),
            &self.holds,
            Carbon::Closed,
            Protons::Balance,
            None,
        )
        .expect("solved");
        (found.ph, found.buffer_mol_kg.unwrap_or(0.0))
    }

    fn pour(&mut self, litres: f64, brings: Totals) {
        let whole = self.litres + litres;
        let mut sum = self.holds * (self.litres / whole);
        sum += brings * (1.0 / whole);
        (self.litres, self.holds) = (whole, sum);
    }

    fn breathe(&mut self) {
        let open = speciate(&self.at(), &self.holds, AIR, Protons::Balance, None).expect("solved");
        self.holds[Component::Carbon] = carbon_mmol_l(&open);
    }
}

fn ec(holds: &Totals) -> f64 {
    let at = Conditions::reference();
    let found = speciate(at, holds, Carbon::Closed, Protons::Balance, None).expect("solved");
    conductivity(at, &found).us_cm / 1000.0
}

/// What so many grams bring, mmol.
fn salt(library: &Library, id: &str, grams: f64) -> Totals {
    let fertilizer = library.fertilizers.get(id).expect("known").clone();
    let amount = saltwright_fertilizers::units::GramsPerL(grams);
    let mut totals = Totals::default();
    totals.add_dose(&saltwright_fertilizers::Dose { fertilizer, amount });
    totals
}

fn number(value: &Value, key: &str) -> Option<f64> {
    value[key].as_f64()
}

/// A request's water, a litre of each of its stocks without water, and its tank.
pub struct Greenhouse<'a> {
    pub library: &'a Library,
    pub request: &'a Value,
    water: Totals,
    stocks: Vec<(String, Totals)>,
}

impl<'a> Greenhouse<'a> {
    pub fn new(library: &'a Library, request: &'a Value) -> Self {
        let water = library.water(request["water"].as_str().expect("a name"));
        let water = source_water(water.expect("known")).expect("solved").totals;
        let tanks = request["stock"]["tanks"].as_array().expect("tanks");
        let stocks = tanks.iter().map(|tank| {
            let mut totals = Totals::default();
            for line in tank["mix"].as_array().expect("a mix") {
                let grams = number(line, "g_per_l_stock").expect("grams");
                totals += salt(library, line["id"].as_str().expect("an id"), grams);
            }
            (tank["name"].as_str().expect("a name").to_owned(), totals)
        });
        Self {
            library,
            request,
            water,
            stocks: stocks.collect(),
        }
    }

    /// The water with so much of every stock, standing in air at the pH that was read.
    fn guess(&self, millilitres_per_litre: f64, ph: f64, celsius: f64) -> Tank {
        let mut holds = self.water;
        for (_, stock) in &self.stocks {
            holds += *stock * (millilitres_per_litre / 1000.0);
        }
        let mut tank = Tank {
            litres: number(self.request, "litres").expect("litres"),
            holds,
            celsius,
        };
        let brought = tank.holds[Component::Carbon];
        for _ in 0..3 {
            let at = tank.at();
            let mut read = speciate(&at, &tank.holds, AIR, Protons::Ph(ph), None).expect("solved");
            let mut carbon = carbon_mmol_l(&read);
            // Stated with the answer: above pH 8.3 no more carbonate is drawn from the air.
            let stands = Protons::Ph(ph.min(8.3));
            let stands = speciate(&at, &tank.holds, AIR, stands, None).expect("solved");
            let most = carbon_mmol_l(&stands).max(brought);
            if ph > 8.3 && carbon > most {
                carbon = most;
                tank.holds[Component::Carbon] = carbon;
                read = speciate(&at, &tank.holds, Carbon::Closed, Protons::Ph(ph), None)
                    .expect("solved");
            }
            tank.holds[Component::Carbon] = carbon;
            let missing = read.acid_meq_l - tank.holds.acid_meq_l;
            // Nitric acid came, or nitrate went.
            tank.holds.acid_meq_l += missing;
            let nitrate = (tank.holds[Component::Nitrate] + missing).max(0.0);
            tank.holds[Component::Nitrate] = nitrate;
        }
        tank
    }

    /// The tank that reads what was read, by halving.
    pub fn tank(&self) -> Option<Tank> {
        let reading = &self.request["reading"];
        let read = number(reading, "ec_ms_cm")?;
        let ph = number(reading, "ph")?;
        let celsius = number(reading, "temperature_c").unwrap_or(25.0);
        let (mut low, mut high) = (0.0, 200.0);
        if self.guess(low, ph, celsius).ec() > read {
            return None;
        }
        for _ in 0..34 {
            let middle = 0.5 * (low + high);
            if self.guess(middle, ph, celsius).ec() < read {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(self.guess(low, ph, celsius))
    }

    /// Does what the steps say; the fullest that the tank ever was.
    pub fn follow(&self, tank: &mut Tank, steps: &[Value]) -> f64 {
        let mut fullest = tank.litres;
        for step in steps {
            match step["do"].as_str().expect("a step") {
                "drain" => tank.litres -= number(step, "litres").expect("litres"),
                "add-water" => {
                    let litres = number(step, "litres").expect("litres");
                    tank.pour(litres, self.water * litres);
                }
                "add-stock" => {
                    let litres = number(step, "ml").expect("mL") / 1000.0;
                    let name = step["tank"].as_str().expect("a tank");
                    let stock = self.stocks.iter().find(|(known, _)| known == name);
                    let mut brings = self.water * litres;
                    brings += stock.expect("a stock of that name").1 * litres;
                    tank.pour(litres, brings);
                }
                "add-acid" | "add-base" => self.treat(tank, step),
                "wait" => tank.breathe(),
                other => panic!("{other}"),
            }
            fullest = fullest.max(tank.litres);
        }
        fullest
    }

    fn treat(&self, tank: &mut Tank, step: &Value) {
        let id = step["id"].as_str().expect("an id");
        let fertilizer = self.library.fertilizers.get(id).expect("known");
        let millilitres = number(step, "ml");
        let grams = match (millilitres, fertilizer.density_g_per_ml) {
            (Some(ml), Some(density)) => ml * density,
            _ => number(step, "g").expect("grams"),
        };
        let litres = millilitres.unwrap_or(0.0) / 1000.0;
        tank.pour(litres, salt(self.library, id, grams));
    }
}
