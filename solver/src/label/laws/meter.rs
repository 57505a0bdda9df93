//! The true EC of a mixture lies in the interval that is told of its label.

use super::*;

#[test]
fn the_true_ec_lies_in_the_interval() {
    let library = library();
    let real = crate::label::meter::model().expect("a model");
    // The chemistry itself takes a hundred solves a case: a tenth of the cases, in the time of both
    // others.
    let models: [(&str, &dyn EcModel, u32); 3] = [
        ("the chemistry", real, CASES / 10),
        ("linear", &linear, CASES),
        ("bent", &bent, CASES),
    ];
    for (name, model, cases) in models {
        for as_wholes in [true, false] {
            let worst = std::cell::Cell::new(f64::INFINITY);
            let law = |case: Case| {
                let truth = case.truth(&library, as_wholes);
                let ingredients = truth.mixtures.ingredients.iter();
                let parts = ingredients.zip(truth.shares.iter().zip(&truth.strengths));
                let mix: Vec<Dose> = parts
                    .map(|(ingredient, (share, strength))| Dose {
                        fertilizer: Arc::clone(&ingredient.fertilizer),
                        amount: GramsPerL(
                            case.dose
                                * share
                                * if as_wholes {
                                    1.0 + strength * ingredient.tolerance
                                } else {
                                    1.0
                                },
                        ),
                    })
                    .collect();
                let ec = model
                    .in_water(&Water::pure())
                    .and_then(|ec| ec(&mix))
                    .expect("a figure");
                let dissolved = Dissolved::of(case.dose);
                let report =
                    test(&dissolved, &truth.mixtures, None, Some(model)).expect("an answer");
                let (low, high) = (
                    report.low_ms_cm.expect("low"),
                    report.high_ms_cm.expect("high"),
                );
                prop_assert!(low <= ec && ec <= high, "{low} {ec} {high}");
                if as_wholes {
                    // Without any uncertainty of the model, over the mixtures alone.
                    let low = report.mixtures_low_ms_cm.expect("low");
                    let high = report.mixtures_high_ms_cm.expect("high");
                    let slack = 1e-3 * ec + 1e-9;
                    prop_assert!(low <= ec + slack && ec <= high + slack, "{low} {ec} {high}");
                    worst.set(
                        worst
                            .get()
                            .min((ec - low) / ec.max(1e-9))
                            .min((high - ec) / ec.max(1e-9)),
                    );
                }
                Ok(())
            };
            runner(cases)
                .run(&case(), law)
                .unwrap_or_else(|error| panic!("{name}: {error}"));
            println!(
                "{name}, wholes {as_wholes}: nearest to an end {:e} of the EC",
                worst.get()
            );
        }
    }
}
