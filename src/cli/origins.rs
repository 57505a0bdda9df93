//! Where parts of a request came from: options, files and entries of files.

use saltwright_fertilizers::Fault;

/// Where parts of a request came from, so that a refusal can say it in the grower's words.
#[derive(Debug, Default)]
pub struct Origins {
    fields: Vec<(String, Origin)>,
}

#[derive(Debug)]
enum Origin {
    /// The file is the field.
    File(String),
    /// The file has an entry of the field's name.
    Named(String),
    Option(String),
}

/// Fields of a request and the options that fill them.
const OPTIONS: &[(&str, &str)] = &[
    ("litres", "--tank"),
    ("sure", "--sure"),
    ("ratio", "--ratio"),
    ("strength", "--strength"),
    ("ec_ms_cm", "--ec"),
    ("acid_to.residual_meq_l", "--residual"),
    ("acid_to.ph", "--ph"),
    ("residual_alkalinity_meq_l", "--residual"),
    ("ph", "--ph"),
    ("temperature_c", "--temperature"),
    ("blend_with.share", "--share"),
    ("blend_with.water", "--blend-with"),
    ("blend_with", "--blend-with"),
    ("acid", "--acid"),
    ("at_most_g", "--at-most"),
    ("already", "--already"),
    ("season_m3", "--season"),
    ("search_s", "--search"),
    ("bags", "--prices"),
    ("only", "--only"),
    ("now", "--now"),
    ("at_hand", "--at-hand"),
    ("keep", "--keep"),
    ("currency", "--currency"),
    ("without", "--without"),
    ("micros", "--micros"),
    ("prices", "--price"),
    ("water.blend", "--blend"),
    ("tanks", "--tanks"),
    ("coldest_c", "--store"),
    ("hottest_c", "--store"),
    ("margin_index", "--margin"),
    ("tank_litres", "--stock"),
    ("scale_g", "--scale"),
    ("convention", "--convention"),
    ("ingredients", "--ingredients"),
    ("found", "--found"),
    ("meter.g_per_l", "--dissolve"),
    ("meter.ml_per_l", "--dissolve"),
    ("meter.ec_ms_cm", "--reads"),
    ("meter.water_ec_ms_cm", "--water-reads"),
    ("dose.g_per_l", "--dose"),
    ("dose.ml_per_l", "--dose"),
    ("density_g_per_ml", "--density"),
    ("capacity_l", "--tank"),
    ("fill_to_l", "--fill"),
    ("reading.temperature_c", "--temperature"),
    ("reading.ph", "--ph"),
    ("reading.ec_ms_cm", "--reading"),
    ("reading.ppm", "--reading"),
    ("reading.cf", "--reading"),
    ("reading.scale", "--reading"),
    ("reading", "--reading"),
    ("base", "--base"),
    ("stock", "--stock"),
];

impl Origins {
    /// Notes that a field is all of a file.
    pub fn whole_file(&mut self, field: &str, path: &str) {
        self.fields
            .push((field.to_owned(), Origin::File(path.to_owned())));
    }

    /// Notes that an option filled a field.
    pub fn option(&mut self, field: impl Into<String>, option: impl Into<String>) {
        self.fields
            .push((field.into(), Origin::Option(option.into())));
    }

    /// Notes that a file filled a field under the field's own name.
    pub fn file(&mut self, field: impl Into<String>, file: &str) {
        self.fields
            .push((field.into(), Origin::Named(file.to_owned())));
    }

    /// A fault of the request, told as one of the file or option it came from.
    pub fn told(&self, fault: &Fault) -> Fault {
        let mut told = fault.clone();
        if fault.file.is_some() {
            return told;
        }
        let below = |field: &str| {
            let rest = fault.field.strip_prefix(field)?;
            (rest.is_empty() || rest.starts_with(['.', '['])).then_some(rest)
        };
        let noted = self
            .fields
            .iter()
            .find_map(|(field, origin)| Some((below(field)?, origin)));
        match noted {
            Some((rest, Origin::File(file))) => {
                told.file = Some(file.clone());
                rest.trim_start_matches('.').clone_into(&mut told.field);
            }
            Some((_, Origin::Named(file))) => told.file = Some(file.clone()),
            Some((_, Origin::Option(option))) => told.field.clone_from(option),
            None => {
                let option = OPTIONS
                    .iter()
                    .find_map(|(field, option)| Some((below(field)?, option)));
                if let Some((rest, option)) = option {
                    let named = rest
                        .strip_prefix('.')
                        .map(|name| format!("{option} {name}"));
                    told.field = named.unwrap_or_else(|| (*option).to_owned());
                }
            }
        }
        told
    }
}
