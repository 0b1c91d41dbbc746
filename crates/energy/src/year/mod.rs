//! A year in steps: sun, loads and utility in; what is stored, served, bought, sold and lost out.
//!
//! Everything of a step is even over it. The array feeds the bus of the battery through its controller; the
//! converter stands between that bus and the AC side; the utility or the generator comes in through the
//! transfer relay.
//!
//! ```text
//! converter   DC draw = P + idle + k1 P + k2 P^2, the same for charging from the AC side (common practice)
//! battery     e' = keep e + nc h c - h d / nd         c: charge, d: discharge at its terminals
//! taper       charge limit falls in a straight line from `taper_from_wh` to nothing at full
//! voltage     discharge at most `holds_w_per_wh` times the charge above the floor
//! heat        above its rating the converter spends its budget in Wh, below it gains a share back
//! ```
//!
//! With the utility: own use first, then the battery, then export. Below the outage reserve, and in hours to
//! fill, the battery is charged from the utility as far as input and relay let it; in hours to spend, it
//! serves loads down to the reserve; where loads exceed input or relay, the converter helps at any hour.
//! Without: the generator starts and stops by charge, tiers are shed by charge and by power, the last tier
//! shed means down, until charge is back or the utility.
//!
//! Arrays on the panel serve its loads first. What those leave charges the battery through the converter, and with
//! the utility the rest is fed in as far as it may; in the island the units raise the frequency until the arrays give
//! no more than loads and charging take. They are locked out while the generator runs, and give nothing until they
//! have reconnected after the beginning of an outage and after the generator.
//!
//! What a step hides: peaks shorter than it, motor starts, and trips within it. A minute shows what an hour
//! hides; none shows seconds. Reactive power and legs are not looked at here.

mod design;
mod flows;
mod lanes;
mod run;
mod step;
mod summary;

pub use design::{Battery, Converter, Design, Generator, PanelArray, Shedding, Utility};
pub use flows::Totals;
pub(crate) use flows::{Flows, Kept, Sums};
pub(crate) use lanes::{Inputs, Lanes, State};
pub(crate) use run::away;
pub use run::{Columns, Hour, Series, simulate, simulate_many};
pub(crate) use step::{draw, heated, inverse, less, more};
pub use summary::{Summary, summary};

#[cfg(test)]
pub(crate) mod testing;
#[cfg(test)]
mod tests;
