//! Small problems, solved by trying every corner.

use super::*;

/// The cheapest corner of the region of all mixes that keep the bands: every choice of as many
/// equations as there are fertilizers, from assays, bands and prices alone. `None` where no corner
/// keeps all.
fn cheapest_corner(request: &FormulateRequest) -> Option<f64> {
    let salts = request.choice.len();
    let mut planes: Vec<(Vec<f64>, f64)> = Vec::new();
    let mut bands: Vec<(Vec<f64>, f64, f64)> = Vec::new();
    for (aimed, aim) in request.recipe.aims() {
        let brings: Vec<f64> = request
            .choice
            .iter()
            .map(|candidate| candidate.fertilizer.mg_per_g().aimed(aimed))
            .collect();
        let water = request.water.holds.aimed(aimed);
        let (low, high) = (aim.min? - water, aim.max? - water);
        if brings.iter().all(|share| *share == 0.0) {
            continue;
        }
        planes.push((brings.clone(), low));
        planes.push((brings.clone(), high));
        bands.push((brings, low, high));
    }
    for salt in 0..salts {
        let mut only = vec![0.0; salts];
        only[salt] = 1.0;
        planes.push((only, 0.0));
    }
    let mut least: Option<f64> = None;
    let mut chosen: Vec<usize> = (0..salts).collect();
    loop {
        let matrix = DMatrix::from_fn(salts, salts, |row, column| planes[chosen[row]].0[column]);
        let right = DVector::from_fn(salts, |row, _| planes[chosen[row]].1);
        if let Some(mix) = matrix.lu().solve(&right) {
            let scale = |value: f64| 1e-7 * value.abs().max(1e-3);
            let keeps = mix.iter().all(|grams| *grams >= -1e-9)
                && bands.iter().all(|(brings, low, high)| {
                    let found: f64 = brings.iter().zip(mix.iter()).map(|(a, x)| a * x).sum();
                    found >= low - scale(*low) && found <= high + scale(*high)
                });
            if keeps {
                let priced = request.choice.iter().zip(mix.iter());
                let cost = priced.map(|(c, grams)| c.price_per_kg.unwrap_or(0.0) * grams);
                let cost: f64 = cost.sum();
                least = Some(least.map_or(cost, |least| least.min(cost)));
            }
        }
        // The next choice in order.
        let mut at = salts;
        loop {
            if at == 0 {
                return least;
            }
            at -= 1;
            if chosen[at] < planes.len() - salts + at {
                break;
            }
        }
        chosen[at] += 1;
        for next in at + 1..salts {
            chosen[next] = chosen[next - 1] + 1;
        }
    }
}

/// The cheapest mix is the cheapest of all corners.
#[test]
fn four_hundred_small_problems_by_enumeration() {
    let library = library();
    let run = runner(400).run(&(case(false), any::<bool>()), |(mut case, exact)| {
        case.salts.truncate(4);
        let (request, _) = request(&case, exact, &library);
        let corner = cheapest_corner(&request.formulate);
        let (Some(corner), Some(found)) = (corner, cheapest(&request.formulate)?) else {
            return Err(TestCaseError::fail("a known mix keeps the bands"));
        };
        let off = (corner - found).abs() / corner.max(1e-9);
        prop_assert!(off <= 1e-6, "{found} against {corner}");
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
}
