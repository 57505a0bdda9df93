//! Help topics about the trade itself: what a grower looks up who stands by the tank and wonders.
//!
//! `tests/help.rs` works their figures out again from atomic weights and scales.

/// Topics and their texts.
pub const TOPICS: &[(&str, &str)] = &[
    ("ppm", PPM),
    ("alkalinity", ALKALINITY),
    ("calcium", CALCIUM),
    ("reading-labels", READING_LABELS),
    ("safety", SAFETY),
];

const PPM: &str = "\
\"ppm\" is said of two things that have little to do with each other.

Of one nutrient it is milligrams in a litre: 150 ppm of nitrogen is 150 mg/L N.
On a TDS pen it is the EC times a factor of the pen's own. The pen weighs
nothing and cannot tell nitrate from table salt.

  EC mS/cm   500 scale   640 scale   700 scale     CF
       0.8         400         512         560      8
       1.2         600         768         840     12
       1.6         800        1024        1120     16
       2.0        1000        1280        1400     20

A reading means nothing without its scale: 840 ppm is an EC of 1.2 on one pen
and of 1.68 on another. The scale is in the manual, or the pen tells it itself:
in the calibration solution of 1.413 mS/cm it shows about 707, 904 or 989.
The three factors are common practice, no source.

Write EC down, not ppm. saltwright takes EC (mS/cm, uS/cm or CF) and shows what
pens of every scale should read.
";

const ALKALINITY: &str = "\
Alkalinity is the acid that a litre of water binds, most of it as bicarbonate,
until its pH has come down to about 4.5 (from memory). It says how much a water
resists; pH only says where it stands. Two waters of pH 7.8 may need ten times
as much acid the one as the other. Hardness is something else again: calcium and
magnesium. Limestone wells have both, softened water only alkalinity.

  1 meq/L = 50.0 mg/L as CaCO3 = 61.0 mg/L HCO3 = 2.80 °dH = 5.00 °fH

Left alone it lifts the pH in the root zone day by day, and lime and iron drop
out. Acid removes it, and brings a nutrient that counts. For each meq/L:

  nitric acid          14.0 mg/L N, as nitrate
  phosphoric acid      about 31 mg/L P near pH 6
  sulfuric acid        16.0 mg/L S

A little is left, 0.5 meq/L where nothing else is said (common practice, no
source): with none, a drop too much acid takes the pH far down. The pH
right after dosing is too low to judge by: carbon dioxide leaves, and it rises.

  saltwright water WATER --residual 0.5      the acid, its nutrients, the pH

The median of 4306 greenhouse waters in North America was 130 mg/L as CaCO3, so
2.6 meq/L (a survey of four laboratories, 1995).

! Acid into water, never water into acid. Goggles and gloves; the product's
  label and your local rules come first.
";

const CALCIUM: &str = "\
In a stock tank everything is a hundred or two hundred times as strong as at the
roots. Calcium then meets sulfate and forms gypsum, or meets phosphate and forms
calcium phosphates. Both hardly dissolve: they sink, block drippers, and feed
nobody.

Pure water at 20 °C holds 0.202 % of calcium sulfate (CRC Handbook, 2017), which
is 0.595 g of calcium a litre. A finished solution has 0.1 to 0.2 g and stays
clear; a stock for 1:100 would have 10 to 20 g.

So calcium nitrate stands in one tank, sulfates and phosphates in another, and
the two meet only in the finished solution. Nitrates of potassium, ammonium and
magnesium go with either. Iron chelate usually stands with the calcium, away
from acid (common practice, no source). Acids get a vessel of their own.

There is no rule which tank is called A. Here it is the one with the calcium; on
somebody else's tanks, ask.

When in doubt, try it in a jar: mix at the strength that is used, cover it, and
look for cloud or sediment the next day (University of California).

  saltwright stock --mix FILE      which tank, how strong, what would drop first
";

const READING_LABELS: &str = "\
The figures on a bag are percent by mass, and promise at least that much. The
three of a grade such as 15-5-15 are N, P2O5 and K2O in most countries; the
oxides are a habit of the trade, no such thing is in the bag. In elements:

  P2O5 x 0.436 = P        CaO x 0.715 = Ca        SO3  x 0.400 = S
  K2O  x 0.830 = K        MgO x 0.603 = Mg        SiO2 x 0.467 = Si

One gram a litre of a product with 1 % brings 10 mg/L. So 1 g/L of 15-5-15 is
150 mg/L N, 21.8 mg/L P and 125 mg/L K. One ounce in 100 US gallons is 74.9 mg/L
of product, and with 15 % N it brings 11.2 mg/L N.

Nitrogen should be split into nitrate, ammonium (ammoniacal) and urea. Urea
shows on no EC meter until it has turned to ammonium, and too much ammonium
harms leafy crops in the dark months (common practice, no source).

A liquid needs its density: 3 % of a liquid of 1.2 g/mL is 36 g in a litre.
Iron, manganese, zinc and copper should say what holds them (EDTA, DTPA,
EDDHA): see help ph. What the label leaves out may still be there: sulfate,
chloride and sodium above all.

  saltwright label 15-5-15 Ca=4 Mg=2      can it be so, and what is left out
  saltwright help labels                  how a label is typed
";

const SAFETY: &str = "\
What is printed here replaces neither the product's label and safety data sheet
nor local rules nor a licensed adviser; they come first.

Acids      Corrosive. Goggles, gloves, apron. Acid into water, never water into
           acid: the heat makes it spit. Never together with a base, a chelate
           concentrate or bleach (poisonous chlorine gas).
Bases      Potassium hydroxide and carbonate, silicates: caustic, blind quickly.
Oxidizers  Nitrates feed fire. Potassium nitrate and ammonium nitrate are class
           5.1 for transport. Dry, cool, away from fuel, oil, sawdust, acids and
           heat. In many countries the law limits who may buy ammonium nitrate
           (from memory).
Boron      Need and harm lie close together: weigh it on a fine scale. Boric
           acid may harm fertility and the unborn child (EU class 1B).
Copper,    Harmful if swallowed, dangerous to eyes, very toxic to water life.
zinc       Keep them out of drains and ponds.
Drain      150 mg/L NO3-N is 15 times the limit of drinking water in the USA
           (10 mg/L NO3-N) and 13 times that of the EU (50 mg/L NO3). Ask before
           anything leaves the greenhouse.
Drinking   Where a line with fertilizer joins drinking water there must be a
water      backflow preventer; the plumbing code says which kind.
Tanks      Label every tank and lid with what is in it: stock --labels.
";
