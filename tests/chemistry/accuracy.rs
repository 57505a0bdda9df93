//! How far off the chemistry is, in one table: DEVELOPERS.md shows it as it is printed here.

use super::published::{CRC, MCCLESKEY, buffer, kcl, ph, single_salts, temperature_factors};
use super::reference::{against, ec_against, ph_against};
use super::tables::Spread;

/// What a row of the table is counted in, and so how many digits it shows.
enum Unit {
    /// Percent, hundredths.
    Percent,
    /// pH or saturation index, ten-thousandths.
    Log,
}
use Unit::{Log, Percent};

type Row = (&'static str, Spread, Unit);

/// Against what was measured.
fn measured() -> Vec<Row> {
    let salts = |status| single_salts(CRC, status, "");
    vec![
        (
            "EC, KCl 0.01 mol/kg, 5 to 35 °C, primary standards",
            kcl(0.01),
            Percent,
        ),
        (
            "EC, KCl 0.1 mol/kg (beyond the range), 5 to 35 °C",
            kcl(0.1),
            Percent,
        ),
        (
            "EC, CRC Handbook: NaCl, KCl, CaCl2, MgCl2, Na2SO4",
            salts("READ"),
            Percent,
        ),
        (
            "EC, CRC Handbook, from memory: KNO3, NH4Cl, KHCO3, HCl, CuSO4, ZnSO4",
            salts("MEMORY"),
            Percent,
        ),
        (
            "EC, McCleskey 2011: 12 salts (its NaHCO3 is 5 % above every model)",
            single_salts(MCCLESKEY, "COMPUTED", ""),
            Percent,
        ),
        (
            "the same without NaHCO3",
            single_salts(MCCLESKEY, "COMPUTED", "NaHCO3"),
            Percent,
        ),
        (
            "temperature factor of EC, 10 salts, 15 to 35 °C",
            temperature_factors(15.0),
            Percent,
        ),
        (
            "temperature factor of EC, 10 salts, 5 to 35 °C",
            temperature_factors(5.0),
            Percent,
        ),
        ("pH, phosphate 6.865, 10 to 30 °C", ph("P_NIST_6"), Log),
        ("pH, phosphate 7.413, 25 °C", ph("P_NIST_7"), Log),
        ("pH, carbonate 10.012, 25 °C", ph("P_NIST_10"), Log),
        (
            "pH, phosphate 6.865, from memory, 5 to 35 °C",
            buffer("phosphate 1:1"),
            Log,
        ),
        (
            "pH, phosphate 7.413, from memory, 5 to 35 °C",
            buffer("phosphate 1:3.5"),
            Log,
        ),
        (
            "pH, borax 9.180, from memory, 5 to 35 °C",
            buffer("borax"),
            Log,
        ),
        (
            "pH, carbonate 10.012, from memory, 5 to 35 °C",
            buffer("carbonate"),
            Log,
        ),
    ]
}

/// Against what other programs compute.
fn computed() -> Vec<Row> {
    vec![
        (
            "pH, PHREEQC 3.8.6 with our constants",
            ph_against("_386r"),
            Log,
        ),
        ("pH, PHREEQC 3.8.6", ph_against("_386"), Log),
        (
            "saturation index of gypsum, PHREEQC 3.8.6 with our constants",
            against("si_gypsum", "_386r"),
            Log,
        ),
        (
            "saturation index of gypsum, PHREEQC 3.8.6",
            against("si_gypsum", "_386"),
            Log,
        ),
        (
            "saturation index of calcite, PHREEQC 3.8.6 with our constants",
            against("si_calcite", "_386r"),
            Log,
        ),
        (
            "saturation index of calcite, PHREEQC 3.8.6",
            against("si_calcite", "_386"),
            Log,
        ),
        (
            "saturation index of brushite, PHREEQC 3.8.6 with our constants",
            against("si_brushite", "_386r"),
            Log,
        ),
        (
            "ionic strength, PHREEQC 3.8.6 with our constants",
            against("ionic_strength", "_386r"),
            Percent,
        ),
        ("EC, PHREEQC 3.7.3", against("ec25_ms_cm", "_373"), Percent),
        (
            "EC, PHREEQC 3.7.3 with our constants",
            against("ec25_ms_cm", "_373r"),
            Percent,
        ),
        (
            "EC, McCleskey 2012",
            ec_against("ec25_ms_cm_mccleskey2012"),
            Percent,
        ),
        (
            "EC, PHREEQC 3.8.6 (wrong on mixed valence: no reference)",
            against("ec25_ms_cm", "_386"),
            Percent,
        ),
        (
            "EC, reference model of our own",
            against("ec25_ms_cm", "_r"),
            Percent,
        ),
        ("pH, reference model of our own", ph_against("_r"), Log),
    ]
}

/// A row as Markdown.
fn line((what, spread, unit): &Row) -> String {
    let (n, mean, max) = (spread.n, spread.mean(), spread.max);
    match unit {
        Percent => format!("| {what} | {n} | {mean:.2} % | {max:.2} % |"),
        Log => format!("| {what} | {n} | {mean:.4} | {max:.4} |"),
    }
}

/// Prints the table; a figure that has moved fails until DEVELOPERS.md shows it.
#[test]
fn the_table_of_the_developers_guide_is_measured() {
    let lines: Vec<String> = measured().iter().chain(&computed()).map(line).collect();
    println!(
        "| check | n | mean | largest |\n|---|---|---|---|\n{}",
        lines.join("\n")
    );
    let guide = include_str!("../../DEVELOPERS.md");
    let missing: Vec<&String> = lines.iter().filter(|line| !guide.contains(*line)).collect();
    assert!(
        missing.is_empty(),
        "DEVELOPERS.md shows other figures than these: {missing:#?}"
    );
}
