//! A network as it is put together: every part is checked when it is added.

use num_complex::Complex64;

use super::dense::inverse;
use super::part::{Element, Load, LoopTerms, Node, Source};
use super::{BusIx, Conductor, ElementIx, LoadIx, ModelError, SourceIx, SourceSpec, Zip};

/// A bus: conductors side by side at one place.
#[derive(Debug, Clone)]
pub(super) struct Bus {
    pub name: String,
    pub conductors: Vec<Conductor>,
    /// Node of the first conductor; the others follow.
    pub first: usize,
}

/// Buses, elements, loads and sources. Voltages in volts RMS, currents in amperes RMS, impedances in ohms.
#[derive(Debug, Clone, Default)]
pub struct Network {
    pub(super) buses: Vec<Bus>,
    pub(super) elements: Vec<Element>,
    pub(super) loads: Vec<Load>,
    pub(super) sources: Vec<Source>,
    /// Nodes held at earth by a bond without impedance.
    pub(super) earthed: Vec<(ElementIx, usize)>,
}

impl Network {
    /// A network without parts.
    pub fn new() -> Self {
        Self::default()
    }

    /// How many nodes (conductors of buses) there are.
    pub fn nodes(&self) -> usize {
        self.buses.last().map_or(0, |bus| bus.first + bus.conductors.len())
    }

    /// The sources, in the order of adding.
    pub fn source_numbers(&self) -> impl Iterator<Item = SourceIx> + use<> {
        (0..self.sources.len()).map(SourceIx)
    }

    /// Name of a bus; empty for one that the network does not have.
    pub fn bus_name(&self, bus: BusIx) -> &str {
        self.buses.get(bus.0).map_or("", |bus| &bus.name)
    }

    /// Name of an element; empty for one that the network does not have.
    pub fn element_name(&self, element: ElementIx) -> &str {
        self.elements.get(element.0).map_or("", |element| &element.name)
    }

    /// Adds a bus with its conductors.
    ///
    /// # Errors
    /// No conductor, one given twice, or earth among them.
    pub fn bus(&mut self, name: &str, conductors: &[Conductor]) -> Result<BusIx, ModelError> {
        let mut sorted = conductors.to_vec();
        sorted.sort_unstable();
        distinct(name, &sorted)?;
        let first = self.nodes();
        self.buses.push(Bus { name: name.to_owned(), conductors: sorted, first });
        Ok(BusIx(self.buses.len() - 1))
    }

    /// Node of a conductor of a bus.
    pub(super) fn node(&self, part: &str, bus: BusIx, conductor: Conductor) -> Result<Node, ModelError> {
        let b = self
            .buses
            .get(bus.0)
            .ok_or_else(|| ModelError::NoSuchBus { part: part.to_owned(), bus: bus.0 })?;
        if conductor == Conductor::Earth {
            return Ok(None);
        }
        let at = b.conductors.iter().position(|c| *c == conductor);
        let at = at.ok_or_else(|| ModelError::NoSuchConductor {
            part: part.to_owned(),
            bus: b.name.clone(),
            conductor,
        })?;
        Ok(Some(b.first + at))
    }

    /// Two different places of a bus.
    fn pair(&self, part: &str, bus: BusIx, ends: (Conductor, Conductor)) -> Result<[Node; 2], ModelError> {
        if ends.0 == ends.1 {
            return Err(ModelError::SameEnds { part: part.to_owned() });
        }
        Ok([self.node(part, bus, ends.0)?, self.node(part, bus, ends.1)?])
    }

    pub(super) fn push_element(&mut self, element: Element) -> ElementIx {
        self.elements.push(element);
        ElementIx(self.elements.len() - 1)
    }

    /// Adds a line (conductor run, switch pole, relay, fuse) with its series impedance matrix over the conductors,
    /// row by row. Its current is positive from the first to the second bus.
    ///
    /// # Errors
    /// An unknown bus or conductor, both ends on one bus, a matrix of the wrong size, not finite, with a negative
    /// resistance or without inverse.
    pub fn line(
        &mut self,
        name: &str,
        from: BusIx,
        to: BusIx,
        conductors: &[Conductor],
        z_ohm: &[Complex64],
    ) -> Result<ElementIx, ModelError> {
        distinct(name, conductors)?;
        if from == to {
            return Err(ModelError::SameEnds { part: name.to_owned() });
        }
        let y_s = admittances(name, conductors.len(), z_ohm)?;
        let (mut terms, mut links) = (Vec::new(), Vec::new());
        for conductor in conductors {
            let (a, b) = (self.node(name, from, *conductor)?, self.node(name, to, *conductor)?);
            terms.push(loop_terms(&[(a, 1.0), (b, -1.0)]));
            links.push((a, b));
        }
        let line = Some((from, to, conductors.to_vec()));
        Ok(self.push_element(Element { name: name.to_owned(), terms, y_s, links, line }))
    }

    /// Adds a line whose conductors do not couple.
    ///
    /// # Errors
    /// As [`Network::line`].
    pub fn plain_line(
        &mut self,
        name: &str,
        from: BusIx,
        to: BusIx,
        conductors: &[(Conductor, Complex64)],
    ) -> Result<ElementIx, ModelError> {
        let names: Vec<Conductor> = conductors.iter().map(|(c, _)| *c).collect();
        let n = conductors.len();
        let mut z = vec![Complex64::default(); n * n];
        for (k, (_, z_ohm)) in conductors.iter().enumerate() {
            z[k * n + k] = *z_ohm;
        }
        self.line(name, from, to, &names, &z)
    }

    /// Bonds a conductor to earth, solidly or through an impedance. Its current is positive into earth.
    ///
    /// # Errors
    /// An unknown bus or conductor, an impedance that is zero, not finite or of negative resistance.
    pub fn bond(
        &mut self,
        name: &str,
        bus: BusIx,
        conductor: Conductor,
        z_ohm: Option<Complex64>,
    ) -> Result<ElementIx, ModelError> {
        if let Some(z) = z_ohm {
            let y = admittances(name, 1, &[z])?;
            return self.shunt_of(name, bus, (conductor, Conductor::Earth), &y);
        }
        let ends = self.pair(name, bus, (conductor, Conductor::Earth))?;
        let element = Element {
            name: name.to_owned(),
            terms: Vec::new(),
            y_s: Vec::new(),
            links: vec![(ends[0], None)],
            line: None,
        };
        let ix = self.push_element(element);
        self.earthed.extend(ends[0].map(|node| (ix, node)));
        Ok(ix)
    }

    /// Adds an admittance between two conductors of a bus, or one and earth. Its current is positive from the
    /// first to the second.
    ///
    /// # Errors
    /// An unknown bus or conductor, an admittance that is not finite or of negative conductance.
    pub fn shunt(
        &mut self,
        name: &str,
        bus: BusIx,
        ends: (Conductor, Conductor),
        admittance_s: Complex64,
    ) -> Result<ElementIx, ModelError> {
        if !admittance_s.is_finite() {
            return Err(ModelError::NotFinite { part: name.to_owned(), what: "admittance" });
        }
        if admittance_s.re < 0.0 {
            let (what, allowed) = ("conductance", "zero or above");
            let part = name.to_owned();
            return Err(ModelError::OutOfRange { part, what, value: admittance_s.re, allowed });
        }
        self.shunt_of(name, bus, ends, &[admittance_s])
    }

    fn shunt_of(
        &mut self,
        name: &str,
        bus: BusIx,
        ends: (Conductor, Conductor),
        y_s: &[Complex64],
    ) -> Result<ElementIx, ModelError> {
        let [a, b] = self.pair(name, bus, ends)?;
        let none = y_s.iter().all(|y| crate::impedance::magnitude(*y) <= 0.0);
        let links = if none { Vec::new() } else { vec![(a, b)] };
        let terms = vec![loop_terms(&[(a, 1.0), (b, -1.0)])];
        Ok(self.push_element(Element { name: name.to_owned(), terms, y_s: y_s.to_vec(), links, line: None }))
    }

    /// Adds a load between two conductors of a bus, or one and earth. Power is positive into it.
    ///
    /// # Errors
    /// An unknown bus or conductor, a value that is not finite.
    pub fn load(&mut self, bus: BusIx, ends: (Conductor, Conductor), zip: Zip) -> Result<LoadIx, ModelError> {
        let name = format!("load {}", self.loads.len());
        if !zip.is_finite() {
            return Err(ModelError::NotFinite { part: name, what: "load" });
        }
        let ends = self.pair(&name, bus, ends)?;
        self.loads.push(Load { ends, zip, limit_a: f64::INFINITY, injects: false });
        Ok(LoadIx(self.loads.len() - 1))
    }

    /// Adds a following unit: it gives P + jQ, up to an RMS current limit at which it keeps its power factor.
    ///
    /// # Errors
    /// An unknown bus or conductor, a power that is not finite, a limit that is not above zero.
    pub fn injection(
        &mut self,
        bus: BusIx,
        ends: (Conductor, Conductor),
        given_va: Complex64,
        limit_a: Option<f64>,
    ) -> Result<LoadIx, ModelError> {
        let name = format!("injection {}", self.loads.len());
        let limit_a = limit(&name, limit_a)?;
        if !given_va.is_finite() {
            return Err(ModelError::NotFinite { part: name, what: "power" });
        }
        let ends = self.pair(&name, bus, ends)?;
        self.loads.push(Load { ends, zip: Zip::power(-given_va), limit_a, injects: true });
        Ok(LoadIx(self.loads.len() - 1))
    }

    /// Adds a source.
    ///
    /// # Errors
    /// An unknown bus or conductor, values that are not finite, a limit that is not above zero, impedances of the
    /// wrong number, of negative resistance or without inverse; without impedance also a current limit.
    pub fn source(&mut self, spec: SourceSpec) -> Result<SourceIx, ModelError> {
        let name = format!("source {}", self.sources.len());
        let ends: Result<Vec<[Node; 2]>, ModelError> =
            spec.emfs.iter().map(|e| self.pair(&name, spec.bus, (e.from, e.to))).collect();
        if spec.emfs.iter().any(|e| !e.emf_v.is_finite()) {
            return Err(ModelError::NotFinite { part: name, what: "voltage" });
        }
        let limits: Result<Vec<f64>, ModelError> =
            spec.emfs.iter().map(|e| limit(&name, e.limit_a)).collect();
        let limit_a = limits?;
        let y_s = if spec.z_ohm.is_empty() {
            if limit_a.iter().any(|l| l.is_finite()) {
                return Err(ModelError::IdealSource { part: name, why: "cannot have a current limit" });
            }
            Vec::new()
        } else {
            admittances(&name, spec.emfs.len(), &spec.z_ohm)?
        };
        let emf_v = spec.emfs.iter().map(|e| e.emf_v).collect();
        self.sources.push(Source { bus: spec.bus, ends: ends?, emf_v, limit_a, z_ohm: spec.z_ohm, y_s });
        Ok(SourceIx(self.sources.len() - 1))
    }
}

fn distinct(part: &str, conductors: &[Conductor]) -> Result<(), ModelError> {
    if conductors.is_empty() {
        let part = part.to_owned();
        return Err(ModelError::Count { part, what: "conductors", count: 0, needed: 1 });
    }
    for (k, conductor) in conductors.iter().enumerate() {
        if *conductor == Conductor::Earth || conductors.iter().take(k).any(|c| c == conductor) {
            return Err(ModelError::Conductors { part: part.to_owned(), conductor: *conductor });
        }
    }
    Ok(())
}

fn limit(part: &str, limit_a: Option<f64>) -> Result<f64, ModelError> {
    match limit_a {
        None => Ok(f64::INFINITY),
        Some(a) if a.is_finite() && a > 0.0 => Ok(a),
        Some(value) => {
            let (what, allowed) = ("current limit", "finite and above zero");
            Err(ModelError::OutOfRange { part: part.to_owned(), what, value, allowed })
        }
    }
}

/// The loop of some nodes, earth left out.
pub(super) fn loop_terms(terms: &[(Node, f64)]) -> LoopTerms {
    terms.iter().filter_map(|(node, c)| node.map(|n| (n, *c))).collect()
}

/// y = z^-1 of a checked impedance matrix.
pub(super) fn admittances(part: &str, n: usize, z_ohm: &[Complex64]) -> Result<Vec<Complex64>, ModelError> {
    let part = part.to_owned();
    if z_ohm.len() != n * n {
        return Err(ModelError::Count { part, what: "impedances", count: z_ohm.len(), needed: n * n });
    }
    if z_ohm.iter().any(|z| !z.is_finite()) {
        return Err(ModelError::NotFinite { part, what: "impedance" });
    }
    if let Some(z) = (0..n).map(|k| z_ohm[k * n + k]).find(|z| z.re < 0.0) {
        let (what, allowed) = ("resistance", "zero or above");
        return Err(ModelError::OutOfRange { part, what, value: z.re, allowed });
    }
    let y = inverse(n, z_ohm).ok_or(ModelError::NoInverse { part: part.clone() })?;
    if y.iter().any(|y| !y.is_finite()) {
        return Err(ModelError::NoInverse { part });
    }
    Ok(y)
}
