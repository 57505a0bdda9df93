//! `saltwright water WATER --acid ID --ph 5.8`: what an analysis says, and the acid it needs.

use super::answer::{ask, mismatch};
use super::input::{Common, Waters, acids, optional};
use super::named::Named;
use super::origins::Origins;
use super::typed::quantity;
use super::{Ending, Stop};
use crate::view::{text, water};
use saltwright_fertilizers::units::{
    parse_alkalinity, parse_celsius, parse_number, parse_strength,
};
use saltwright_fertilizers::{Faults, Node};
use saltwright_recipes::Library;
use saltwright_solver::job::Report;
use std::io::Write;
use std::path::PathBuf;

/// Options of `water`.
#[derive(Debug, clap::Args)]
#[command(allow_negative_numbers = true, next_line_help = true)]
pub struct Args {
    /// A shipped name (see `saltwright list waters`) or a file (.toml)
    water: Option<String>,
    /// Part of a blend, like rain-barrel=0.6; repeat for each water
    #[arg(long, value_name = "WATER=SHARE", conflicts_with = "water")]
    blend: Vec<String>,
    /// Acid (or base) to dose; each of the table where left out; or none
    #[arg(long, value_name = "ID")]
    acid: Vec<String>,
    /// Alkalinity to leave, meq/L (0.5 where left out)
    #[arg(long, value_name = "MEQ_L")]
    residual: Option<String>,
    /// pH to reach right after dosing
    #[arg(long, value_name = "PH", conflicts_with = "residual")]
    ph: Option<String>,
    /// Blend with this water until published limits are kept
    #[arg(long, value_name = "WATER")]
    blend_with: Option<String>,
    /// Share of the first water in that blend, like 0.6 or "60 %"
    #[arg(long, requires = "blend_with")]
    share: Option<String>,
    /// Temperature that pH is told at, like 18 or "65 F"
    #[arg(long)]
    temperature: Option<String>,
    /// Volume to dose, like "120 L" or "30 gal"
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    tank: Option<String>,
    /// Your own fertilizer table (CSV) in place of the shipped one
    #[arg(long, value_name = "FILE")]
    fertilizers: Option<PathBuf>,
    /// Fluid ounces and gallons
    #[arg(long)]
    gallons: bool,
    /// Print the report as JSON
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(args: &Args, library: &Library, out: &mut dyn Write) -> Result<Ending, Stop> {
    let (common, mut faults) = (args.common(), Faults::default());
    let mut origins = Origins::default();
    let mut request = Node::table([("job", Node::text("water"))]);
    let known = common.shelf(&mut request, library, &mut faults);
    common.water(&mut request, library, &mut origins, &mut faults);
    args.fill(&mut request, library, &mut origins, &mut faults);
    let litres = common.litres(&mut faults).map(|litres| litres.0);
    let answer = ask((&request, faults), &origins, library, args.json, out)?;
    let Report::Water(report) = answer else {
        return mismatch();
    };
    if !args.json {
        let measure = common.show().measure;
        let sheet = water::sheet(&report, measure, litres, &|id| known.dangers(id));
        write!(out, "{}", text::render(&sheet))?;
    }
    Ok(Ending::Within)
}

impl Args {
    /// The options that this command shares with others.
    fn common(&self) -> Common {
        Common {
            waters: Waters {
                water: self.water.clone(),
                blend: self.blend.clone(),
            },
            tank: self.tank.clone(),
            fertilizers: self.fertilizers.clone(),
            gallons: self.gallons,
            json: self.json,
            ..Common::default()
        }
    }

    fn fill(
        &self,
        request: &mut Node,
        library: &Library,
        origins: &mut Origins,
        faults: &mut Faults,
    ) {
        acids(&self.acid, request, faults);
        let residual = |text: &str| parse_alkalinity(text).map(|meq| meq.0);
        let celsius = |text: &str| parse_celsius(text).map(|celsius| celsius.0);
        let typed = [
            (
                "residual_alkalinity_meq_l",
                optional(self.residual.as_ref(), "--residual", residual, faults),
            ),
            (
                "ph",
                optional(self.ph.as_ref(), "--ph", parse_number, faults),
            ),
            (
                "temperature_c",
                optional(self.temperature.as_ref(), "--temperature", celsius, faults),
            ),
        ];
        request.fill(typed);
        if let Some(typed) = &self.blend_with {
            let with = Named::water(library).node(typed, "blend_with.water", origins, faults);
            let share = self
                .share
                .as_ref()
                .and_then(|share| quantity(share, "--share", parse_strength, faults))
                .map(Node::number);
            let blend = Node::table_of([("water", with), ("share", share)]);
            request.set("blend_with", blend);
        }
    }
}
