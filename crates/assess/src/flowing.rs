//! What flows in one settled state: the loads, sources and settings of a case put into the network solve.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use demand::Lane;
use derivation::Known;
use network::operating::{Bridge, Flows, Legs, Operating, Units, Unsolved};
use num_complex::Complex64;
use plant::full::FullPlant;
use plant::{ElementKind, SourceKind};
use quantity::{Current, Leg, Power, Quantity};
use states::Reached;

use crate::positions::{LIVE, collapsing, nothing, panel_current};
use crate::{Case, faults, unit_flows};

/// What the units and the loads do in a state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Corner {
    /// Every leg of the panel at its highest, the units idle.
    Load,
    /// The same, the units charging as far as the input limit leaves room.
    Charging,
    /// No load, the units giving what the export limit allows.
    Exporting,
    /// The load over the input limit, the units giving the rest.
    Contributing,
    /// Beside a generator: every leg of the panel at its highest, the battery giving what is over the units' limit and the
    /// units charging where a leg is under it.
    Helping,
    /// The group carries the panel with one unit out.
    OneOut,
    /// Every array inverter at its highest, the units idle or forming the voltage, the loads' current across it.
    Array,
}

impl Corner {
    /// The corners that decide margins.
    pub const DECIDING: [Corner; 4] = [Corner::Load, Corner::Charging, Corner::Exporting, Corner::Array];
    /// All.
    pub const ALL: [Corner; 7] = [
        Corner::Load,
        Corner::Charging,
        Corner::Exporting,
        Corner::Contributing,
        Corner::Helping,
        Corner::OneOut,
        Corner::Array,
    ];

    /// As it is written to people.
    pub fn word(self) -> &'static str {
        match self {
            Corner::Load => "load",
            Corner::Charging => "charging",
            Corner::Exporting => "exporting",
            Corner::Contributing => "contributing",
            Corner::Helping => "helping the generator",
            Corner::OneOut => "one unit out",
            Corner::Array => "array at its highest",
        }
    }
}

/// Resistance of a generator's leg in ohms: its regulator holds the terminals, so nearly none.
const GENERATOR_OHM: f64 = 0.001;
/// Fault current of a service that states none, in amperes, for the voltages only.
const ASSUMED_FAULT_A: f64 = 10_000.0;
/// Rounds in which charging is brought to the input limit, and the share of it that is left over at most.
const ROUNDS: usize = 5;
const CLOSE: f64 = 1e-10;
/// Below this a solved current is rounding, in amperes.
const DUST_A: f64 = 1e-6;

/// Solved states by the bits of what they were solved for.
type Kept = BTreeMap<Vec<u64>, Result<Rc<Flows>, Unsolved>>;

/// The full plant of a case, ready to be solved in its states.
pub(crate) struct Flowing<'c, 'a> {
    pub case: &'c Case<'a>,
    pub plant: FullPlant,
    /// Parts by their id without the number of their unit.
    roles: BTreeMap<String, Vec<usize>>,
    utility_ohm: Complex64,
    /// What is solved, by everything that it rests on: states that differ in clocks alone are solved once.
    solved: RefCell<Kept>,
}

/// A solved corner of a state.
pub(crate) struct Solved {
    pub corner: Corner,
    pub flows: Rc<Flows>,
    /// What each leg's currents rest on.
    from: [Vec<Known<Current>>; 3],
    /// The limit to which the units bring the current through their relays, in amperes.
    held_a: Option<f64>,
}

/// Which source the group follows, if any.
pub(crate) fn followed(case: &Case<'_>, reached: &Reached) -> Option<SourceKind> {
    let (plant, state) = (&case.plant, &reached.state);
    LIVE.into_iter().find(|kind| {
        state.present(*kind)
            && plant
                .source(*kind)
                .is_some_and(|s| plant.joined(s.node, &state.positions, &[]).contains(&plant.group_output))
    })
}

impl<'c, 'a> Flowing<'c, 'a> {
    pub fn new(case: &'c Case<'a>) -> Self {
        let fault_a = faults::available(case).map_or(ASSUMED_FAULT_A, |known| known.value().si());
        let ohm = case.system().phase_voltage().si() / fault_a.max(1.0);
        let plant = crate::proving::full_plant(case);
        let mut roles: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (k, part) in plant.parts.iter().enumerate() {
            roles.entry(part.role()).or_default().push(k);
        }
        Self { case, plant, roles, utility_ohm: Complex64::new(ohm, 0.0), solved: RefCell::default() }
    }

    /// Solves a corner of a state; `None` where the state has no such corner.
    pub fn solve(&self, reached: &Reached, corner: Corner) -> Option<Result<Solved, Unsolved>> {
        let case = self.case;
        let state = &reached.state;
        let follows = followed(case, reached);
        let forms = self.forms(reached);
        let Some(positions) = self.plant.positions_like(&case.plant, &state.positions) else {
            // a state that cannot be placed is said, not left out
            return (corner == Corner::Load).then_some(Err(Unsolved::NoSuchPosition));
        };
        let mut from: [Vec<Known<Current>>; 3] = Default::default();
        let units = match corner {
            Corner::Load if forms => Units::Form(self.bridges(None)),
            Corner::OneOut if forms && self.plant.units.len() > 1 => Units::Form(self.bridges(Some(0))),
            Corner::Load => Units::Off,
            Corner::Exporting if follows == Some(SourceKind::Utility) => {
                return self.exporting(&positions, from);
            }
            Corner::Charging | Corner::Contributing => {
                return self.limited(reached, &positions, follows?, corner);
            }
            Corner::Helping => return self.helping(reached, &positions, follows?),
            Corner::Array => {
                let units = if forms { Units::Form(self.bridges(None)) } else { Units::Off };
                return self.array(reached, &positions, units);
            }
            Corner::OneOut | Corner::Exporting => return None,
        };
        let loads = self.loads(reached, follows, &mut from);
        Some(self.run(reached, &positions, units, loads).map(|flows| Solved {
            corner,
            flows,
            from,
            held_a: None,
        }))
    }

    pub(crate) fn run(
        &self,
        reached: &Reached,
        positions: &[u8],
        units: Units,
        loads: Vec<(plant::NodeIx, Legs)>,
    ) -> Result<Rc<Flows>, Unsolved> {
        let state = &reached.state;
        self.once(&Operating {
            plant: &self.plant,
            positions,
            utility_ohm: state.utility.then_some(self.utility_ohm),
            generator_ohm: state.generator.then_some(Complex64::new(GENERATOR_OHM, 0.0)),
            units,
            loads,
        })
    }

    /// Solves it unless the same was solved before.
    fn once(&self, operating: &Operating<'_>) -> Result<Rc<Flows>, Unsolved> {
        let key = key(operating);
        if let Some(known) = self.solved.borrow().get(&key) {
            return known.clone();
        }
        let flows = operating.solve().map(Rc::new);
        self.solved.borrow_mut().insert(key, flows.clone());
        flows
    }

    /// The group forms a voltage of its own.
    pub(crate) fn forms(&self, reached: &Reached) -> bool {
        reached.state.group_forms(&self.case.plant) && !collapsing(self.case, reached)
    }

    /// Every unit as a source; the first of each leg gives more than its part by the family's tolerance.
    pub(crate) fn bridges(&self, out: Option<usize>) -> Vec<Bridge> {
        let unit = self.case.unit;
        let share = unit.sharing_tolerance.share().si();
        let mut first: Vec<&[Leg]> = Vec::new();
        let all = self.plant.units.iter().enumerate().map(|(k, at)| {
            let on = out != Some(k);
            let beside = self.plant.units.iter().enumerate();
            let n = beside.filter(|(j, u)| u.legs == at.legs && out != Some(*j)).count();
            let leads = on && !first.contains(&at.legs.as_slice());
            if leads {
                first.push(&at.legs);
            }
            let more = match n {
                0 | 1 => 1.0,
                _ if leads => 1.0 + share,
                _ => 1.0 - share / (n as f64 - 1.0),
            };
            Bridge {
                on,
                output_ohm: unit.output_impedance.si() / more,
                limit_a: unit.surge.current.si(),
                line_to_line: unit.leg_control == catalog::LegControl::LineToLine,
            }
        });
        all.collect()
    }

    /// Currents of the backup panel and of what is beside it.
    pub(crate) fn loads(
        &self,
        reached: &Reached,
        follows: Option<SourceKind>,
        from: &mut [Vec<Known<Current>>; 3],
    ) -> Vec<(plant::NodeIx, Legs)> {
        let case = self.case;
        let mut panel = Legs::default();
        let mut main = Legs::default();
        let by_utility = reached.state.feeds_panel(&case.plant) == Some(SourceKind::Utility);
        for &leg in case.system().legs() {
            let mut current = panel_current(case, leg);
            if follows == Some(SourceKind::Generator) {
                current = crate::positions::from_generator(case, reached.state.battery, current);
            }
            let at = leg.index();
            if let (Some(panel), Some(main), Some(from)) =
                (panel.get_mut(at), main.get_mut(at), from.get_mut(at))
            {
                *panel = angled(&case.demand.lanes, leg, case, current.value().si());
                *main = self.beside(leg, by_utility, current.value().si());
                from.push(current);
            }
        }
        let main_node = self.plant.node_ix("main");
        let beside = main_node.into_iter().map(|node| (node, main));
        std::iter::once((self.plant.panel, panel)).chain(beside).collect()
    }

    /// What the main panel takes beside the backup panel: with it no more than all loads of the site together.
    fn beside(&self, leg: Leg, by_utility: bool, panel_a: f64) -> Complex64 {
        let assessment = self.case.assessment;
        let of = |panel: &demand::PanelDemand| {
            panel.lanes.get(&Lane::Leg(leg)).map_or(0.0, |lane| lane.steady_current.value().si())
        };
        let Some(beside) = &assessment.beside else { return Complex64::default() };
        let alone = of(beside);
        let amperes = match &assessment.whole {
            Some(whole) if by_utility => alone.min((of(whole) - panel_a).max(0.0)),
            _ => alone,
        };
        angled(&beside.lanes, leg, self.case, amperes)
    }

    fn on_leg(&self, leg: Leg) -> f64 {
        self.plant.units.iter().filter(|u| u.legs.contains(&leg)).count().max(1) as f64
    }

    /// The same current on a leg from each of its units.
    pub(crate) fn each(&self, legs: &Legs) -> Units {
        let of = |unit: &plant::full::Unit| {
            let mut own = Legs::default();
            for leg in &unit.legs {
                if let (Some(own), Some(all)) = (own.get_mut(leg.index()), legs.get(leg.index())) {
                    *own = *all / self.on_leg(*leg);
                }
            }
            own
        };
        Units::Follow(self.plant.units.iter().map(of).collect())
    }

    fn exporting(
        &self,
        positions: &[u8],
        mut from: [Vec<Known<Current>>; 3],
    ) -> Option<Result<Solved, Unsolved>> {
        let case = self.case;
        let P_x = &case.settings.export_limit;
        if P_x.value() <= Power::ZERO {
            return None;
        }
        let mut legs = Legs::default();
        for &leg in case.system().legs() {
            let current = unit_flows::exporting(case, P_x, leg);
            let at = leg.index();
            if let (Some(given), Some(from)) = (legs.get_mut(at), from.get_mut(at)) {
                *given = Complex64::new(-current.value().si(), 0.0);
                from.push(current);
            }
        }
        let solved = self.once(&Operating {
            plant: &self.plant,
            positions,
            utility_ohm: Some(self.utility_ohm),
            generator_ohm: None,
            units: self.each(&legs),
            loads: self.arrays(&mut from),
        });
        Some(solved.map(|flows| Solved { corner: Corner::Exporting, flows, from, held_a: None }))
    }

    /// What every array inverter gives at its highest, in phase with the voltage that it follows.
    fn arrays(&self, from: &mut [Vec<Known<Current>>; 3]) -> Vec<(plant::NodeIx, Legs)> {
        let each = self.plant.followers.iter().map(|follower| {
            let mut legs = Legs::default();
            for leg in self.case.system().legs() {
                if let (Some(given), Some(from)) = (legs.get_mut(leg.index()), from.get_mut(leg.index())) {
                    *given = Complex64::new(-follower.current.value().si(), 0.0);
                    from.push(follower.current.clone());
                }
            }
            (follower.node, legs)
        });
        each.collect()
    }

    /// The arrays at their highest beside the loads. Loads draw current; of one that draws s, with active part p >= 0,
    /// beside an array that gives c there is left |s - c|^2 = |s|^2 - 2 p c + c^2, at most |s|^2 + c^2: so the highest
    /// load current stands across the array's, whatever its power factor.
    fn array(&self, reached: &Reached, positions: &[u8], units: Units) -> Option<Result<Solved, Unsolved>> {
        if self.plant.followers.is_empty() {
            return None;
        }
        let mut from: [Vec<Known<Current>>; 3] = Default::default();
        let mut loads = self.loads(reached, followed(self.case, reached), &mut from);
        for (_, legs) in &mut loads {
            *legs = legs.map(|i| Complex64::new(0.0, -magnitude(i)));
        }
        loads.extend(self.arrays(&mut from));
        let flows = match self.run(reached, positions, units, loads) {
            Ok(flows) => flows,
            Err(error) => return Some(Err(error)),
        };
        let live =
            |node: plant::NodeIx| flows.voltages.get(node.0).is_some_and(|v| v.iter().any(Option::is_some));
        self.plant.followers.iter().any(|f| live(f.node)).then_some(Ok(Solved {
            corner: Corner::Array,
            flows,
            from,
            held_a: None,
        }))
    }

    /// Charging or contributing until the current through the units' relays is at the limit.
    fn limited(
        &self,
        reached: &Reached,
        positions: &[u8],
        source: SourceKind,
        corner: Corner,
    ) -> Option<Result<Solved, Unsolved>> {
        let case = self.case;
        let limit = match source {
            SourceKind::Generator => case.settings.generator_limit.as_ref(),
            _ => case.settings.input_limit.as_ref(),
        }?;
        let mut from: [Vec<Known<Current>>; 3] = Default::default();
        let loads = self.loads(reached, Some(source), &mut from);
        let alone = match self.run(reached, positions, Units::Off, loads.clone()) {
            Ok(flows) => flows,
            Err(error) => return Some(Err(error)),
        };
        let kind = self.followed_through(source);
        let mut own = Legs::default();
        for &leg in case.system().legs() {
            let through = rotated(case, leg, self.total(&alone, kind, leg));
            let wanted = wanted(case, corner, reached.state.battery, (limit, through), leg)?;
            let at = leg.index();
            if let (Some(own), Some(from)) = (own.get_mut(at), from.get_mut(at)) {
                *own = Complex64::new(wanted.value().si(), 0.0);
                from.push(wanted);
            }
        }
        if case.unit.leg_control == catalog::LegControl::LineToLine {
            let least = case.system().legs().iter().filter_map(|l| own.get(l.index())).map(|c| c.re);
            let least = least.fold(f64::INFINITY, f64::min);
            own = own.map(|_| Complex64::new(least, 0.0));
        }
        if own.iter().all(|c| c.re == 0.0) {
            return None; // nothing is left for it: the load alone says it
        }
        let limit_a = limit.value().si();
        // line-to-line units take the same on both legs: no leg may have more than the least of them
        let even = case.unit.leg_control == catalog::LegControl::LineToLine;
        let mut most = [0.0; 3];
        for (&leg, own) in case.system().legs().iter().zip(&own) {
            if let Some(most) = most.get_mut(leg.index()) {
                *most = if even { own.re } else { unit_flows::charging_most(case, leg).value().si() };
            }
        }
        let mut last = None;
        for _ in 0..ROUNDS {
            let flows = match self.run(reached, positions, self.each(&own), loads.clone()) {
                Ok(flows) => flows,
                Err(error) => return Some(Err(error)),
            };
            let mut off = false;
            for &leg in case.system().legs() {
                let excess = magnitude(self.total(&flows, kind, leg)) - limit_a;
                let Some(own) = own.get_mut(leg.index()) else { continue };
                let most = most.get(leg.index()).copied().unwrap_or_default();
                let next = if corner == Corner::Charging {
                    (own.re - excess).clamp(0.0, most)
                } else {
                    own.re - excess
                };
                if own.re != 0.0 && (next - own.re).abs() > CLOSE * limit_a {
                    off = true;
                    own.re = next;
                }
            }
            last = Some(Solved { corner, flows, from: from.clone(), held_a: Some(limit_a) });
            if !off {
                break;
            }
        }
        last.map(Ok)
    }

    /// Sum over the units of the current of one of their parts on a leg.
    pub fn total(&self, flows: &Flows, role: &str, leg: Leg) -> Complex64 {
        let parts = self.roles.get(role).into_iter().flatten();
        parts.filter_map(|part| flows.parts.get(*part)?.get(leg.index())).sum()
    }

    /// The parts of each role, in the order of their roles.
    pub fn roles(&self) -> impl Iterator<Item = (&str, &[usize])> {
        self.roles.iter().map(|(role, parts)| (role.as_str(), parts.as_slice()))
    }

    /// Current of an element of the gathered plant on a leg.
    pub fn element(&self, solved: &Solved, element: &plant::Element, leg: Leg) -> Option<Known<Current>> {
        let role = match element.kind {
            ElementKind::Relays => "unit.relay",
            ElementKind::GeneratorRelays => "unit.second relay",
            _ => &element.id,
        };
        let amperes = magnitude(self.total(&solved.flows, role, leg));
        let what = format!("current of {} on {leg}, {}", element.name, solved.corner.word());
        (amperes > 0.0).then(|| solved.known(what, amperes, leg))
    }
}

impl Solved {
    /// A corner in which the units bring the current through their relays to a limit, in amperes.
    pub fn held(corner: Corner, flows: Rc<Flows>, from: [Vec<Known<Current>>; 3], limit_a: f64) -> Self {
        Self { corner, flows, from, held_a: Some(limit_a) }
    }

    /// A current of the solve, resting on the loads and own currents of its leg.
    pub fn known(&self, what: impl Into<String>, amperes: f64, leg: Leg) -> Known<Current> {
        let from = self.from.get(leg.index()).map_or(&[][..], Vec::as_slice);
        let nodes = from.iter().map(|known| known.node().clone()).collect();
        let held = self.held_a.filter(|held| (held - amperes).abs() < DUST_A);
        let value = Current::from_si(held.unwrap_or_else(|| rounded(amperes)));
        // the bound that was kept, not what rounding happened to leave under it
        let residual_a = self.flows.residual_a.max(network::operating::TOLERANCE_A);
        Known::solved("I", what, value, "Y V = I(V)", residual_a, nodes)
    }
}

/// Everything that a solve of the same plant rests on, bit by bit. Lengths and kinds go before what they count.
fn key(operating: &Operating<'_>) -> Vec<u64> {
    let Operating { plant: _, positions, utility_ohm, generator_ohm, units, loads } = operating;
    let mut key: Vec<u64> = positions.iter().map(|at| u64::from(*at)).collect();
    let complex = |key: &mut Vec<u64>, z: &Complex64| key.extend([z.re.to_bits(), z.im.to_bits()]);
    for ohm in [utility_ohm, generator_ohm] {
        key.push(u64::from(ohm.is_some()));
        ohm.iter().for_each(|ohm| complex(&mut key, ohm));
    }
    match units {
        Units::Off => key.push(0),
        Units::Follow(all) => {
            key.push(1);
            all.iter().flatten().for_each(|current| complex(&mut key, current));
        }
        Units::Form(all) => {
            key.push(2);
            for Bridge { on, output_ohm, limit_a, line_to_line } in all {
                key.push(u64::from(*on) | u64::from(*line_to_line) << 1);
                key.extend([output_ohm.to_bits(), limit_a.to_bits()]);
            }
        }
    }
    for (node, legs) in loads {
        key.push(node.0 as u64);
        legs.iter().for_each(|current| complex(&mut key, current));
    }
    key
}

/// Nine digits: what lies below is the arithmetic's own.
fn rounded(amperes: f64) -> f64 {
    if !amperes.is_finite() || amperes == 0.0 {
        return amperes;
    }
    let scale = libm::pow(10.0, 8.0 - libm::floor(libm::log10(amperes.abs())));
    libm::round(amperes * scale) / scale
}

/// Magnitude in amperes; what the solve's tolerance may leave is nothing.
pub(crate) fn magnitude(z: Complex64) -> f64 {
    let amperes = libm::hypot(z.re, z.im);
    if amperes < DUST_A { 0.0 } else { amperes }
}

/// A current as its leg's voltage without load sees it.
pub(crate) fn rotated(case: &Case<'_>, leg: Leg, current: Complex64) -> Complex64 {
    let (sin, cos) = libm::sincos(-case.system().angle_deg(leg).to_radians());
    current * Complex64::new(cos, sin)
}

/// A current with the power factor of the highest power and the highest current of a lane. Over every permitted subset
/// neither is exceeded, so no sum with a current in phase is larger: |s + c|^2 = |s|^2 + 2 c p + c^2.
fn angled(lanes: &BTreeMap<Lane, demand::LaneDemand>, leg: Leg, case: &Case<'_>, amperes: f64) -> Complex64 {
    let watts = lanes.get(&Lane::Leg(leg)).map_or(0.0, |lane| lane.steady_power.value().si());
    let active = (watts / case.system().phase_voltage().si()).min(amperes);
    Complex64::new(active, -(amperes * amperes - active * active).max(0.0).sqrt())
}

/// What the units take (charging) or give (contributing) on a leg beside a load through their relays.
fn wanted(
    case: &Case<'_>,
    corner: Corner,
    battery: bool,
    (limit, through): (&Known<Current>, Complex64),
    leg: Leg,
) -> Option<Known<Current>> {
    let limit_a = limit.value().si();
    let room = limit_a * limit_a - through.im * through.im;
    let equation = "|I_load + I_own| = I_limit";
    let from = vec![limit.node().clone(), panel_current(case, leg).node().clone()];
    let at_limit = |amperes: f64, what: String| {
        Known::solved("I_own", what, Current::from_si(amperes), equation, 0.0, from.clone())
    };
    match corner {
        Corner::Charging => {
            let left = (room.max(0.0).sqrt() - through.re).max(0.0);
            let left = if room > 0.0 { left } else { 0.0 };
            let left = at_limit(left, format!("charging current on {leg} that the input limit leaves"));
            let most = unit_flows::charging_most(case, leg);
            Known::smallest("I_ch", format!("charging current on {leg}"), &[most, left])
        }
        Corner::Contributing if battery && case.helps_one_leg() => {
            if magnitude(through) <= limit_a {
                return Some(nothing("contribution", "the load is under the input limit"));
            }
            let given = through.re - room.max(0.0).sqrt();
            Some(at_limit(-given, format!("what the units take on {leg} (negative: give)")))
        }
        _ => None,
    }
}
