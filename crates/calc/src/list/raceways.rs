//! Raceway fill by the US code.

use codebook::us::raceway_fill::{Group, fill, fill_by_note_7, fits, smallest, trade_size};
use tables::us::raceway::Raceway;

use super::conductor_inputs as ci;
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![raceway_fill()]
}

fn raceway_fill() -> Calculation {
    Calculation {
        id: "raceway-fill",
        purpose: "Smallest raceway for conductors, or whether they fit into one (give size, or conductor_in2)",
        inputs: vec![
            In::numbers("count", M::NUMBER, "how many conductors alike of group").within(1.0, 1000.0),
            In::text("size", "size of the conductors of group, one for each group").each().if_given(),
            In::word("insulation", "THHN also for THWN and THWN-2, XHHW also for XHHW-2", &["THHN", "XHHW"])
                .each()
                .or("THHN"),
            In::numbers("conductor_in2", M::SQUARE_INCH, "area of a conductor of group, insulation included")
                .if_given(),
            In::word("raceway", "kind of raceway", &["EMT", "IMC", "RMC", "PVC-40", "PVC-80", "FMC"])
                .or("EMT"),
            In::text("trade_size", "trade size to be checked, as 1-1/4; else the smallest that does")
                .if_given(),
            In::number("inside_in2", M::SQUARE_INCH, "inside area of a raceway that the table does not have")
                .if_given(),
            In::yes_no("nipple", "not longer than 24 in between enclosures").or("no"),
            In::yes_no(
                "note_7",
                "three and more conductors all alike: a decimal of 0.8 counts as one more (from memory; confirm in the adopted code)",
            )
            .or("yes"),
        ],
        outputs: vec![
            Out::new("total_in2", M::SQUARE_INCH, "area of all conductors"),
            Out::new("conductors", M::NUMBER, "how many"),
            Out::new("share_pct", M::PERCENT, "share of the inside that they may take"),
            Out::new("trade_size", M::WORD, "trade size"),
            Out::new("inside_in2", M::SQUARE_INCH, "inside area of the raceway"),
            Out::new("limit_in2", M::SQUARE_INCH, "area that conductors may take in it"),
            Out::new("filled_pct", M::PERCENT, "share of the inside that they take"),
            Out::new("most", M::NUMBER, "where the area alone is not enough: how many alike may lie in it by Note 7"),
            Out::new("fits", M::WORD, "they fit: by area, or by Note 7"),
        ],
        run: run_fill,
    }
}

fn run_fill(given: &Given) -> Result<Results, CalcError> {
    let counts = given.list("count", "n")?;
    let mut groups = Vec::new();
    match (given.has("size"), given.has("conductor_in2")) {
        (true, false) => {
            let sizes = given.words_for_each("size", counts.len())?;
            let insulations = given.words_for_each("insulation", counts.len())?;
            for ((count, size), insulation) in counts.into_iter().zip(&sizes).zip(&insulations) {
                groups.push(Group::insulated(count, insulation, ci::read_size(size)?)?);
            }
        }
        (false, true) => {
            let areas = given.for_each("conductor_in2", "A_c", counts.len())?;
            groups.extend(counts.into_iter().zip(areas).map(|(count, each)| Group { count, each }));
        }
        _ => return Err(CalcError::NotCovered("give either size or conductor_in2".to_owned())),
    }
    let nipple = ci::yes(given, "nipple")?;
    let fill = if given.yes("note_7")? { fill_by_note_7(&groups, nipple)? } else { fill(&groups, nipple)? };
    let kind = given.word("raceway")?;
    let found = match (given.has("inside_in2"), given.has("trade_size")) {
        (false, false) => smallest(&fill, kind)?,
        (false, true) => fits(&fill, trade_size(kind, given.word("trade_size")?)?)?,
        (true, false) => {
            fits(&fill, Raceway { trade_size: String::new(), area: given.one("inside_in2", "A_in")? })?
        }
        (true, true) => {
            return Err(CalcError::NotCovered("give trade_size or inside_in2, not both".to_owned()));
        }
    };
    let results = Results::default()
        .known("total_in2", &fill.total)
        .known("conductors", &fill.conductors)
        .known("share_pct", &fill.share)
        .known("inside_in2", &found.raceway.area)
        .known("limit_in2", &found.limit)
        .known("filled_pct", &found.filled)
        .known_if("most", found.most.as_ref())
        .flag("fits", found.fits);
    let named = !found.raceway.trade_size.is_empty();
    Ok(if named { results.text("trade_size", found.raceway.trade_size) } else { results })
}
