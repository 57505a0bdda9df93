//! The machine face: the same answers as `batch`, problems told as RFC 9457 says, and a description
//! that every answer fits.

use crate::common::{batch, library, stdout};
use saltwright::web::api::{answer, describe};
use saltwright::web::{Document, Media};
use serde_json::{Value, json};

mod described;

fn post(job: &str, request: &str) -> Document {
    answer(job, request, library())
}

fn tree(document: &Document) -> Value {
    serde_json::from_str(&document.text).expect("JSON")
}

/// Requests that are answered, one for each job and some with every kind of part.
fn requests() -> Vec<(&'static str, Value)> {
    let own = json!({"id": "mine", "formula": "KNO3", "assay_pct": {"NO3-N": 13.5, "K": 38.0}});
    let recipe = json!({"name": "r", "aims": {
        "NO3-N": 150, "K": {"aim": 210, "min": 190, "max": 230, "weight": 2}, "Cl": {"max": 70},
    }, "ec_ms_cm": 1.4, "ph": [5.5, 6.2], "micros": "micros-leafy"});
    let water = json!({"holds": {"Ca": 48, "Mg": 9}, "alkalinity_meq_l": 2.1, "ph": 7.6});
    let blend = json!({"blend": [
        {"water": "rain-barrel", "share": 0.6}, {"water": water, "share": 0.4},
    ]});
    vec![
        ("formulate", json!({"recipe": "hoagland-2", "id": 7})),
        (
            "formulate",
            json!({
                "id": "all", "recipe": recipe, "water": blend, "prices": {"urea": 0.8, "mine": 1.2},
                "fertilizers": [own, "urea", "calcium-nitrate-tetrahydrate"], "litres": 120,
                "ratio": 100, "strength": 0.5, "acid": null, "at_most_g": {"mine": 60},
                "already": [{"id": "urea", "g_per_l": 0.01}], "simplest": false, "ec_ms_cm": 1.2,
            }),
        ),
        (
            "formulate",
            json!({
                "recipe": {"aims": {"Ca": {"max": 20}, "K": 200}}, "water": "quarry-end-well",
                "only": ["potassium-sulfate"], "without": ["urea"], "acid": ["nitric-acid-38"],
                "acid_to": {"residual_meq_l": 0.7},
            }),
        ),
        (
            "predict",
            json!({
                "mix": [{"id": "urea", "g_per_l": 0.5}, {"id": "nitric-acid-38", "ml_per_l": 0.2}],
                "water": "rain-barrel", "temperature_c": 21,
            }),
        ),
        ("predict", json!({"mix": []})),
        (
            "substitute",
            json!({
                "recipe": {"aims": {"NO3-N": 100, "K": 180, "Ca": {"min": 60, "max": 140}}},
                "fertilizers": [own, "calcium-nitrate-tetrahydrate", "potassium-nitrate"],
                "prices": {"mine": 1.2, "calcium-nitrate-tetrahydrate": 0.9,
                    "potassium-nitrate": 2},
                "now": [{"id": "potassium-nitrate", "g_per_l": 0.45},
                    {"id": "calcium-nitrate-tetrahydrate", "g_per_l": 0.3}],
            }),
        ),
        (
            "purchase",
            json!({
                "recipe": {"aims": {"NO3-N": {"min": 80, "max": 140}, "K": {"min": 150}}},
                "fertilizers": [own, "potassium-nitrate"], "season_m3": 20, "search_s": 1,
                "bags": {"mine": {"sizes": [{"bag_kg": 5, "price_per_bag": 13.5}],
                    "on_hand_kg": 2},
                    "potassium-nitrate": {"sizes": [{"bag_kg": 25, "price_per_bag": 50}]}},
            }),
        ),
        (
            "correct",
            json!({
                "recipe": "sonneveld-modified-lettuce", "water": "rain-barrel", "litres": 50,
                "capacity_l": 100, "reading": {"ec_ms_cm": 1.9, "ph": 6.4},
                "ranges": {"meter_pct": 2, "meter_ph": 0.1, "stock_pct": 3},
            }),
        ),
        (
            "label",
            json!({"guarantee": "13-0-46", "ingredients": ["potassium-nitrate"],
                "recipe": "yamazaki-lettuce", "ranges": true}),
        ),
        ("label", json!({"guarantee": "15-5-15"})),
        (
            "label",
            json!({"guarantee": "15-5-15", "dose": {"g_per_l": 0.8},
                "recipe": "sonneveld-modified-lettuce", "without": ["urea"]}),
        ),
    ]
}

#[test]
fn it_answers_as_batch_does() {
    for (job, mut request) in requests() {
        let posted = post(job, &request.to_string());
        assert_eq!(
            (posted.status, posted.media),
            (200, Media::Json),
            "{}",
            posted.text
        );
        request["job"] = job.into();
        let lines = stdout(&batch(format!("{request}\n").as_bytes()));
        assert_eq!(posted.text, lines.trim_end());
    }
}

#[test]
fn what_is_refused_is_a_problem_with_the_refusal_inside() {
    for (job, request, status, kind, place) in [
        (
            "formulate",
            "{\"recipe\": \"hoagland-9\"}",
            422,
            "unknown-name",
            "recipe",
        ),
        (
            "formulate",
            "{\"recipe\": \"hoagland-2\", \"litre\": 1}",
            422,
            "unknown-name",
            "litre",
        ),
        (
            "formulate",
            "{\"recipe\": {\"aims\": {\"K\": -1}}}",
            422,
            "negative",
            "recipe.aims.K",
        ),
        ("formulate", "{}", 422, "empty", "recipe"),
        ("formulate", "{", 400, "unreadable", ""),
        ("formulate", "[]", 400, "unreadable", ""),
        ("formulate", "", 400, "unreadable", ""),
        ("formulat", "{}", 404, "unknown-name", "job"),
        (
            "formulate",
            "{\"job\": \"predict\", \"mix\": []}",
            422,
            "unknown-name",
            "job",
        ),
        (
            "predict",
            "{\"mix\": [], \"id\": []}",
            422,
            "unreadable",
            "id",
        ),
    ] {
        let refused = post(job, request);
        assert_eq!(
            (refused.status, refused.media),
            (status, Media::Problem),
            "{request}"
        );
        let problem = tree(&refused);
        assert_eq!(problem["status"], status);
        assert_eq!(problem["type"], "about:blank");
        assert_eq!(problem["refusal"]["kind"], kind, "{problem}");
        assert_eq!(problem["refusal"]["where"], place, "{problem}");
        let detail = problem["detail"].as_str().expect("words");
        assert!(detail.contains(problem["refusal"]["what"].as_str().expect("words")));
    }
    let several = tree(&post(
        "formulate",
        "{\"recipe\": \"x\", \"water\": \"y\", \"id\": 3}",
    ));
    assert_eq!(several["faults"].as_array().map(Vec::len), Some(2));
    assert_eq!(several["id"], 3);
}

/// A request full of faults gets an answer that is not many times as large.
#[test]
fn a_flood_of_faults_is_counted() {
    let many: Vec<String> = (0..90_000).map(|at| format!("\"k{at}\":1")).collect();
    let refused = post("predict", &format!("{{\"mix\":[],{}}}", many.join(",")));
    assert_eq!(refused.status, 422);
    assert!(refused.text.len() < 100_000, "{}", refused.text.len());
    let faults = tree(&refused)["faults"]
        .as_array()
        .expect("several")
        .clone();
    let last = faults.last().expect("one")["what"].as_str();
    assert!(
        last.is_some_and(|words| words.contains("not told here: 89800")),
        "{last:?}"
    );
}

/// A schema of the description, with the parts that it refers to.
fn schema(described: &Value, pointer: &str) -> jsonschema::Validator {
    let mut whole = described.clone();
    let wanted = described
        .pointer(pointer)
        .unwrap_or_else(|| panic!("{pointer}"));
    whole["allOf"] = json!([wanted]);
    jsonschema::draft202012::new(&whole).expect("a schema of draft 2020-12")
}

#[test]
fn requests_answers_and_problems_fit_their_description() {
    let described = describe::describe("/", library());
    assert_eq!(described["openapi"], "3.1.0");
    for (job, request) in requests() {
        let path = format!("/paths/~1api~1{job}/post");
        let asked = format!("{path}/requestBody/content/application~1json/schema");
        let told = format!("{path}/responses/200/content/application~1json/schema");
        let asked = schema(&described, &asked);
        assert!(
            asked.is_valid(&request),
            "{:?}",
            asked.iter_errors(&request).next()
        );
        assert!(!asked.is_valid(&json!({"recipe": "a", "mix": [], "litre": 1})));
        let answer = tree(&post(job, &request.to_string()));
        let told = schema(&described, &told);
        assert!(
            told.is_valid(&answer),
            "{:?}",
            told.iter_errors(&answer).next()
        );
        let without = |key: &str| {
            let mut less = answer.clone();
            less.as_object_mut().expect("a table").remove(key);
            less
        };
        let keys = ["job", "nutrients", "ec", "cautions", "now", "cheapest"];
        for key in keys.into_iter().filter(|key| answer.get(key).is_some()) {
            assert!(!told.is_valid(&without(key)), "{key} may not be left out");
        }
    }
    let problem = "/components/responses/422/content/application~1problem+json/schema";
    let problem = schema(&described, problem);
    for request in ["{", "{}", "{\"recipe\": \"x\", \"water\": \"y\"}"] {
        let told = tree(&post("formulate", request));
        assert!(
            problem.is_valid(&told),
            "{:?}",
            problem.iter_errors(&told).next()
        );
    }
    let other = saltwright::web::api::problem::document(413, "Send less.");
    assert!(problem.is_valid(&tree(&other)));
}
