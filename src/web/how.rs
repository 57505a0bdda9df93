//! How the numbers come about, in plain words.

use super::Visit;
use super::frame::TextPage;
use maud::{Markup, html};

/// The page.
pub const PAGE: TextPage = TextPage {
    path: "how",
    name: "How it works",
    text,
};

fn text(visit: &Visit<'_>) -> Markup {
    html! {
        h1 { "How the numbers come about" }
        p.lead { "Nothing here is a guess of taste; each figure follows from a table, a recipe, a \
                  water and a proof." }
        (masses())
        (choice())
        (meters())
        (tanks())
        (labels())
        (shown())
        (machines(visit))
    }
}

fn masses() -> Markup {
    html! {
        h2 { "From grams to nutrients" }
        p { "A fertilizer is a list of percentages by mass. So many grams in a litre, times each \
             percentage, are so many milligrams of each nutrient; what the water brings is added. \
             Nutrients are counted as elements: K, not K2O; NO3-N is the nitrogen in the nitrate." }
        p { "Where a row has a formula, its percentages follow from atomic weights (IUPAC, abridged \
             2021). The label of your bag wins over any shipped row." }
    }
}

fn choice() -> Markup {
    html! {
        h2 { "From a recipe to grams" }
        p { "The mix is found in three steps, each held while the next is taken:" }
        ol {
            li { "closest to the aims: relative deviations are added up, and a miss beyond a band \
                  counts a thousandfold;" }
            li { "cheapest among the equally close, once there are prices;" }
            li { "least mass and fewest fertilizers among the equally cheap." }
        }
        p { "Beside the mix stands a proof: a bound that no other mix of these fertilizers can \
             beat, and the gap between that bound and what was reached. It is worked out anew from \
             the numbers of the question, not taken from the method that found the mix." }
        p { "Where a recipe cannot be met, the sheet names the smallest set of bands that exclude \
             each other, what each could come to, and what would mend it." }
    }
}

fn meters() -> Markup {
    html! {
        h2 { "What the meters show" }
        p { "EC, pH and solids follow from the ions: which of them pair, how far each counts, what \
             each conducts. The range beside a figure is meant to hold nineteen times in twenty; \
             scale and meter come on top, and a TDS pen shows EC times a factor of its maker. \
             Outside what the model is checked for the sheet says so and gives no range." }
        p { "Alkalinity is what buffers water against acid. Acid turns it into carbon dioxide, \
             which escapes: that is why two figures stand for pH, right after mixing and after \
             standing in air." }
    }
}

fn tanks() -> Markup {
    html! {
        h2 { "In a stock tank" }
        p { "Whether something drops out of a strong solution follows from its ions, too. The index \
             of a solid is the logarithm of what is dissolved over what a saturated solution holds: \
             0 is saturated. Every way to put the fertilizers into the tanks is looked at, and clear \
             means that each index stays the margin below 0 at the coldest and the hottest store." }
        p { "Ratios are good to 15 or 20 %; the careful one allows for that. What has no constants \
             is named and placed by common practice." }
    }
}

fn labels() -> Markup {
    html! {
        h2 { "Behind a label" }
        p { "A label is held against all mixtures of its ingredients, not against one: what it \
             leaves out is an interval, not a zero, and so is the EC of a spoonful. Where the figures \
             cannot stand together, points for each percent prove it: the label asks for more points \
             than the richest ingredient holds." }
    }
}

fn shown() -> Markup {
    html! {
        h2 { "How figures are shown" }
        p { "Three digits, one decimal from 100 up: at most half a percent away from the exact \
             figure, which “Exact figures as JSON” keeps. An empty cell means that nothing was \
             asked; 0 means none." }
        p { "A bar shows where a nutrient ends: the box is its band, the stroke its aim, the \
             diamond what is delivered. Outside the box a word says so, too." }
        p { "Numbers are typed as you write them: 1.4 or 1,4; 120 L, 30 gal, 500 mL; 12 g, 2 oz, \
             0.3 mL; 1:100. An aim may be a figure (210), a band (190..230) or one end (..70)." }
    }
}

fn machines(visit: &Visit<'_>) -> Markup {
    let api = format!("{}api", visit.base);
    html! {
        h2 { "Addresses and machines" }
        p { "The address of an answer is its question: keep it, send it, open it again, and the \
             same figures stand there. Nothing is stored on this machine, and nothing is fetched \
             from any other." }
        p { "Programs post a request to " code { (visit.base) "api/formulate" } "; "
            a href=(api) { "its description (OpenAPI)" } " names every key." }
    }
}
