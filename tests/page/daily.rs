//! The pages of the daily round ask for all that their commands take, and answer alike.

use super::*;

/// The invented stocks, as a file and as they are pasted.
const STOCKS: &str = "recipes/data/demo/stocks.toml";

/// Every piece that the terminal shows stands on the page.
fn alike(path: &str, arguments: &[&str], fields: &[(&str, &str)]) {
    let page = get(path, fields);
    assert_eq!(page.status, 200, "{fields:?}: {}", read(&page.text));
    let page = read(&page.text);
    let pieces = terminal(arguments);
    assert!(pieces.len() >= 3, "{arguments:?}");
    for piece in pieces {
        assert!(page.contains(&piece), "{arguments:?}\n{piece}\n{page}");
    }
}

#[test]
fn a_page_of_meters_takes_all_that_the_command_takes() {
    let pasted = std::fs::read_to_string(STOCKS).expect("shipped");
    #[rustfmt::skip]
    let arguments = [
        "meter", "--check", "0.5=0.53", "--check", "KCl:0.745g=1.40", "--check", "NaCl:1g=1.9",
        "--pair", "745ppm=1.49", "--pair", "1120 ppm=2.25", "--buffer", "7=7.1", "--buffer", "4=4.2",
        "--make", "1.413", "--make", "2.76", "--calibrated", "40", "--temperature", "64.4 F", "--reading", "13 CF",
        "--aim", "1200 uS/cm", "--stock", STOCKS, "--ratio", "1:128", "--dosed", "1.2",
        "--water", "larch-hollow-spring",
    ];
    let fields = [
        ("checks", "0.5 = 0.53\nKCl:0.745g = 1.40\n\nNaCl:1 g = 1,9"),
        ("pairs", "745ppm = 1.49\n1120 ppm=2.25"),
        ("buffers", "7 = 7.1\n4 = 4.2"),
        ("make", "1.413; 2,76"),
        ("days", "40"),
        ("temperature", "18"),
        ("reading", "13 CF"),
        ("aim", "1200 µS/cm"),
        ("stocks", "own"),
        ("own-stocks", &pasted),
        ("ratio", "1:128"),
        ("dosed", "1.2"),
        ("water", "larch-hollow-spring"),
    ];
    alike("meter", &arguments, &fields);
    // The invented stocks say their dilution themselves.
    let dosed = ["meter", "--stock", STOCKS, "--dosed", "1.2"];
    alike("meter", &dosed, &[("stocks", "demo"), ("dosed", "1.2")]);
}

#[test]
fn a_page_of_corrections_takes_all_that_the_command_takes() {
    let table = "id,formula,NO3-N,K,Ca,strength_pct,density_g_per_ml\nmy-calcium,,15.5,,19.0,,\n\
                 my-nitrate,KNO3,13.5,38.0,,,\nmy-acid,HNO3,,,,40,1.25\n";
    let stocks = "tank,id,g_per_l_stock\nA,my-calcium,60\nB,my-nitrate,60\n";
    let folder = tempfile::tempdir().expect("a folder");
    let file = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).expect("written");
        path.display().to_string()
    };
    let (table_file, stock_file) = (file("own.csv", table), file("stocks.csv", stocks));
    #[rustfmt::skip]
    let shared = [
        "correct", "yamazaki-lettuce", "--reading", "1.1", "--level", "90 L", "--tank", "120 L",
        "--fertilizers", &table_file, "--stock", &stock_file, "--ratio", "100",
        "--micros", "micros-leafy",
    ];
    let fields = [
        ("recipe", "yamazaki-lettuce"),
        ("micros", "micros-leafy"),
        ("reading", "1.1"),
        ("level", "90"),
        ("tank", "120"),
        ("own-fertilizers", table),
        ("stocks", "own"),
        ("own-stocks", stocks),
        ("ratio", "1:100"),
    ];
    let named = [&shared[..], &["--ph", "6.9", "--acid", "my-acid"]].concat();
    let named_fields = [&fields[..], &[("ph", "6.9"), ("acid", "my-acid")]].concat();
    alike("correct", &named, &named_fields);
    // A bottle without a label, US units beside metric ones.
    let bottle = [
        &shared[..],
        &["--ph", "6.9", "--bottle", "5mL/100L=7.0..6.6"],
    ]
    .concat();
    let bottle_fields = [
        ("ph", "6.9"),
        ("bottle-ml", "5"),
        ("bottle-into", "100 L"),
        ("bottle-before", "7,0"),
        ("bottle-after", "6.6"),
    ];
    alike("correct", &bottle, &[&fields[..], &bottle_fields].concat());
    let analysis = "[holds]\nNO3-N = 132\nP = 30\nK = 168\nCa = 112\nMg = 28\n";
    let analysis_file = file("tank.toml", analysis);
    let found = [
        &shared[..],
        &[
            "--ph",
            "6.1",
            "--analysis",
            &analysis_file,
            "--base",
            "none",
        ],
    ]
    .concat();
    let found_fields = [("ph", "6.1"), ("analysis", analysis), ("base", "none")];
    alike("correct", &found, &[&fields[..], &found_fields].concat());
}

/// Three of the four figures that a bottle is judged by say which one lacks.
#[test]
fn a_bottle_is_judged_by_four_figures() {
    let asked = [
        ("reading", "1.4"),
        ("tank", "9"),
        ("ph", "6.9"),
        ("recipe", "hoagland-2"),
    ];
    let bottle = [
        ("bottle-ml", "5"),
        ("bottle-into", "100 L"),
        ("bottle-before", "7"),
        ("bottle-after", "6.6"),
    ];
    for left_out in 0..bottle.len() {
        let given = bottle.iter().enumerate();
        let given = given.filter_map(|(at, field)| (at != left_out).then_some(*field));
        let page = get(
            "correct",
            &[&asked[..], &given.collect::<Vec<_>>()].concat(),
        );
        assert_eq!(page.status, 422);
        assert!(beside(&page.text, bottle[left_out].0).contains("is empty"));
    }
    let twice = [&asked[..], &bottle, &[("acid", "nitric-acid-38")]].concat();
    assert!(beside(&get("correct", &twice).text, "acid").contains("twice"));
    let grams = [&asked[..], &bottle[1..], &[("bottle-ml", "5 g")]].concat();
    assert!(beside(&get("correct", &grams).text, "bottle-ml").contains("not known"));
    let still = [&asked[..], &bottle[..3], &[("bottle-after", "7")]].concat();
    assert_eq!(get("correct", &still).status, 422);
}

/// Limits and micronutrients of a grower's own reach a refill as they do by command.
#[test]
fn a_page_of_refills_takes_limits() {
    let readings = "recipes/data/demo/readings.csv";
    #[rustfmt::skip]
    let arguments = [
        "refill", "sonneveld-modified-lettuce", "--water", "larch-hollow-spring",
        "--readings", readings, "--tank", "20 L", "--limit", "Na=20",
    ];
    let fields = question(&[("readings", "demo"), ("tank", "20"), ("limits", "Na 20")]);
    alike("refill", &arguments, &fields);
}

/// What is said beside a field, if anything is.
pub fn beside<'a>(page: &'a str, field: &str) -> &'a str {
    let mark = format!("id=\"{field}-fault\"");
    let rest = page.split_once(mark.as_str()).map_or("", |(_, rest)| rest);
    rest.split_once("</ul>").map_or("", |(said, _)| said)
}
