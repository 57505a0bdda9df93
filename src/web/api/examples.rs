//! Requests that the description shows, and that are answered: for each job one that says little,
//! and one that says much.

use serde_json::{Value, json};

/// The examples of a job, each with its name.
pub fn of(job: &str) -> impl Iterator<Item = (&'static str, Value)> {
    let both = match job {
        "formulate" => formulate(),
        "predict" => predict(),
        "water" => water(),
        "stock" => stock(),
        "substitute" => substitute(),
        "purchase" => purchase(),
        "label" => label(),
        "correct" => correct(),
        "refill" => refill(),
        "meter" => meter(),
        _ => [Value::Null, Value::Null],
    };
    ["little", "much"]
        .into_iter()
        .zip(both)
        .filter(|(_, request)| !request.is_null())
}

/// A recipe, a water and fertilizers of one's own: invented.
fn own() -> [Value; 3] {
    [
        json!({
            "name": "Bench basil", "aims": {
                "NO3-N": 150, "NH4-N": 8, "P": 35, "Ca": {"min": 110, "max": 170},
                "K": {"aim": 200, "min": 180, "max": 230, "weight": 2}, "Mg": 36, "Cl": {"max": 70},
            },
            "unit": "mg/L", "ec_ms_cm": 1.4, "ph": [5.5, 6.2], "micros": "micros-leafy",
        }),
        json!({
            "name": "Orchard well", "holds": {"Ca": 48, "Mg": 9, "Na": 12, "Cl": 18, "S": 8},
            "alkalinity_meq_l": 2.1, "ph": 7.6, "temperature_c": 12,
        }),
        json!({
            "id": "own-nitrate", "name": "Our potassium nitrate", "formula": "KNO3",
            "assay_pct": {"NO3-N": 13.5, "K": 38}, "tolerance_pct": 3, "price_per_kg": 1.6,
            "tank": "either",
        }),
    ]
}

fn formulate() -> [Value; 2] {
    let [recipe, water, own] = own();
    let much = json!({
        "id": "bench-3", "recipe": recipe,
        "water": {"blend": [{"water": water, "share": 0.4}, {"water": "rain-barrel", "share": 0.6}]},
        "fertilizers": [
            own, "calcium-nitrate-tetrahydrate", "magnesium-sulfate-heptahydrate",
            "monopotassium-phosphate", "potassium-sulfate", "nitric-acid-38", "fe-dtpa-6",
            "manganese-sulfate-monohydrate", "zinc-sulfate-heptahydrate", "boric-acid",
            "copper-sulfate-pentahydrate", "sodium-molybdate-dihydrate",
        ],
        "acid": ["nitric-acid-38"], "acid_to": {"ph": 5.8, "end": "closed"},
        "without": ["potassium-sulfate"], "strength": 0.9, "detail": true, "simplest": true,
        "litres": 500, "ratio": 100, "at_most_g": {"own-nitrate": 400}, "ec_ms_cm": 1.4,
        "already": [{"id": "monopotassium-phosphate", "g_per_l": 0.02}],
        "ranges": {"tolerance_pct": 2, "scale_g": 1, "volume_pct": 1, "water_pct": 5},
    });
    [json!({"recipe": "hoagland-2"}), much]
}

fn predict() -> [Value; 2] {
    let [_, water, own] = own();
    let much = json!({
        "id": 7, "water": water, "fertilizers": [own], "temperature_c": 21, "litres": 60,
        "mix": [
            {"id": "own-nitrate", "g_per_l": 0.5}, {"id": "nitric-acid-38", "ml_per_l": 0.1},
            {"id": "magnesium-sulfate-heptahydrate", "g_per_l": 0.3},
        ],
        "prices": {"magnesium-sulfate-heptahydrate": 0.7}, "ranges": true,
    });
    let little = json!({"mix": [{"id": "potassium-nitrate", "g_per_l": 0.5}]});
    [little, much]
}

fn water() -> [Value; 2] {
    let [_, water, _] = own();
    let much = json!({
        "id": "well", "water": water, "acid": ["nitric-acid-38", "phosphoric-acid-75"],
        "residual_alkalinity_meq_l": 0.5, "temperature_c": 20,
        "blend_with": {"water": "rain-barrel", "share": 0.7, "limits": {"Cl": 70, "alkalinity": 2}},
    });
    [json!({"water": "quarry-end-well"}), much]
}

fn stock() -> [Value; 2] {
    let mix = json!([
        {"id": "calcium-nitrate-tetrahydrate", "g_per_l": 0.7},
        {"id": "potassium-nitrate", "g_per_l": 0.3},
        {"id": "magnesium-sulfate-heptahydrate", "g_per_l": 0.35},
        {"id": "monopotassium-phosphate", "g_per_l": 0.14},
    ]);
    let much = json!({
        "id": "shed", "mix": mix, "water": "rain-barrel", "tanks": 2, "ratio": 100,
        "coldest_c": 8, "hottest_c": 28, "margin_index": 0.1, "tank_litres": [60, 60],
        "scale_g": 1, "acid_tank": false,
        "already": [{"tank": "A", "id": "calcium-nitrate-tetrahydrate", "g": 4200}],
        "ranges": {"ratio_pct": 5},
    });
    [json!({"mix": mix}), much]
}

/// Prices in no currency, invented.
fn prices() -> Value {
    json!({
        "own-nitrate": 1.6, "calcium-nitrate-tetrahydrate": 0.8, "potassium-nitrate": 1.9,
        "magnesium-sulfate-heptahydrate": 0.6, "monopotassium-phosphate": 2.4,
        "potassium-sulfate": 1.2,
    })
}

fn substitute() -> [Value; 2] {
    let [_, water, own] = own();
    let aims = json!({"aims": {"NO3-N": 130, "P": 30, "K": 180, "Ca": {"min": 60, "max": 140}}});
    let rows = json!([
        own,
        "calcium-nitrate-tetrahydrate",
        "potassium-nitrate",
        "monopotassium-phosphate",
        "potassium-sulfate",
    ]);
    let much = json!({
        "id": "autumn", "recipe": aims, "water": water, "fertilizers": rows, "prices": prices(),
        "now": [
            {"id": "potassium-nitrate", "g_per_l": 0.4},
            {"id": "calcium-nitrate-tetrahydrate", "g_per_l": 0.4},
            {"id": "monopotassium-phosphate", "g_per_l": 0.13},
        ],
        "keep": "bands", "currency": "crowns", "litres": 1000,
    });
    let little = json!({"recipe": aims, "fertilizers": rows, "prices": prices()});
    [little, much]
}

fn purchase() -> [Value; 2] {
    let [_, _, own] = own();
    let aims = json!({"aims": {"NO3-N": {"min": 110, "max": 150}, "P": {"min": 25, "max": 40},
        "K": {"min": 150, "max": 220}, "Ca": {"min": 60, "max": 150}}});
    let rows = json!([
        own,
        "calcium-nitrate-tetrahydrate",
        "potassium-nitrate",
        "monopotassium-phosphate",
    ]);
    let bags = json!({
        "calcium-nitrate-tetrahydrate": {"sizes": [{"bag_kg": 25, "price_per_bag": 20}]},
        "potassium-nitrate": {"sizes": [
            {"bag_kg": 5, "price_per_bag": 12}, {"bag_kg": 25, "price_per_bag": 48},
        ]},
        "monopotassium-phosphate": {"sizes": [{"bag_kg": 25, "price_per_bag": 60}],
            "on_hand_kg": 4},
    });
    let much = json!({
        "id": "season", "recipe": aims, "fertilizers": rows, "bags": bags, "season_m3": 120,
        "search_s": 1, "litres": 1000,
    });
    let little = json!({"recipe": aims, "fertilizers": rows, "bags": bags, "season_m3": 60});
    [little, much]
}

fn label() -> [Value; 2] {
    let [recipe, water, _] = own();
    let much = json!({
        "id": "bag", "name": "Leaf feed", "guarantee": {"N": 15, "NO3-N": 11, "NH4-N": 4,
            "P2O5": 5, "K2O": 15, "Ca": 4},
        "convention": "us", "form": "solid", "filler": true,
        "found": {"N": 14.8, "K2O": 15.4}, "values_per_kg": {"N": 1.1, "K2O": 0.9},
        "meter": {"g_per_l": 1, "ec_ms_cm": 1.05, "water_ec_ms_cm": 0.05, "meter_pct": 2},
        "dose": {"g_per_l": 0.8}, "price_per_kg": 2.2, "recipe": recipe, "water": water,
        "keep": "aims",
    });
    [json!({"guarantee": "15-5-15 + 4Ca + 2Mg"}), much]
}

/// Stocks of a shed, as `stock` reports them.
fn stocks() -> Value {
    json!({
        "ratio": 100, "tanks": [
            {"name": "A", "mix": [
                {"id": "calcium-nitrate-tetrahydrate", "g_per_l_stock": 70},
                {"id": "potassium-nitrate", "g_per_l_stock": 15},
            ]},
            {"name": "B", "mix": [
                {"id": "potassium-nitrate", "g_per_l_stock": 15},
                {"id": "magnesium-sulfate-heptahydrate", "g_per_l_stock": 35},
                {"id": "monopotassium-phosphate", "g_per_l_stock": 14},
            ]},
        ],
    })
}

fn correct() -> [Value; 2] {
    let [_, water, _] = own();
    let much = json!({
        "id": "trough", "recipe": "hoagland-2", "water": water, "litres": 380, "capacity_l": 500,
        "fill_to_l": 450, "reading": {"ppm": 1260, "scale": 700, "ph": 6.6, "temperature_c": 19},
        "ec_ms_cm": 1.6, "ph": [5.6, 6.2], "stock": stocks(), "acid": "nitric-acid-38",
        "base": {"ml": 5, "litres": 10, "ph_before": 5.2, "ph_after": 6},
        "ranges": {"stock_pct": 3, "meter_pct": 2, "meter_ph": 0.1, "temperature_c": 0.5},
    });
    let little = json!({
        "recipe": "hoagland-2", "litres": 400, "reading": {"ec_ms_cm": 1.2, "ph": 6.8},
    });
    [little, much]
}

fn refill() -> [Value; 2] {
    let [_, water, _] = own();
    let readings = json!([
        {"at": "2026-03-02T08:00", "litres": 480, "ec_ms_cm": 1.8, "ph": 5.9},
        {"at": "2026-03-05T08:00", "litres": 430, "ec_ms_cm": 1.6, "ph": 6.2, "temperature_c": 20},
        {"at": "2026-03-09T08:00", "litres": 440, "cf": 15, "ph": 6.4},
    ]);
    let much = json!({
        "id": "trough", "recipe": "hoagland-2", "water": water, "readings": readings,
        "added": [
            {"at": "2026-03-06T09:00", "what": "feed", "litres": 40},
            {"at": "2026-03-06T09:05", "what": "potassium-nitrate", "g": 12},
            {"at": "2026-03-07T09:00", "what": "water", "litres": 20, "water": "rain-barrel"},
        ],
        "analysis": {"holds": {"K": 180, "Na": 30}}, "limits": {"Na": 115},
    });
    [json!({"recipe": "hoagland-2", "readings": readings}), much]
}

fn meter() -> [Value; 2] {
    let much = json!({
        "id": "pen",
        "points": [
            {"kcl_g_per_l": 0.7455, "shows": 1.36},
            {"true_ms_cm": 2.77, "shows": 1390, "unit": "ppm", "scale": 500},
        ],
        "pairs": [{"ppm": 700, "ec_ms_cm": 1.4}], "reading": {"ppm": 840, "scale": 700},
        "ph_points": [{"true_ph": 7, "shows": 6.9}, {"true_ph": 4.01, "shows": 4.1}],
        "make_ms_cm": [1.413, 2.77], "aim_ms_cm": 1.6, "calibrated_days_ago": 20, "temperature_c": 18,
        "doser": {"stock": stocks(), "ratio": 100, "shows_ms_cm": 1.7}, "water": "rain-barrel",
    });
    let little = json!({"points": [{"true_ms_cm": 1.413, "shows": 1.36}]});
    [little, much]
}
