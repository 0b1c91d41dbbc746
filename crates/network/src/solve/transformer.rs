//! Two-winding and centre-tapped transformers: ideal coupling with leakage, no magnetising branch.

use num_complex::Complex64;

use super::model::{admittances, loop_terms};
use super::part::{Element, Node};
use super::{BusIx, Conductor, ElementIx, ModelError, Network};

use Conductor::{L1, L2, L3, N};

/// One pair of windings: `ratio` is first over second rated voltage, the leakage is seen from the second side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Windings {
    /// Ends of the first winding, dotted end first.
    pub first: (Conductor, Conductor),
    /// Ends of the second winding, dotted end first.
    pub second: (Conductor, Conductor),
    /// Rated voltage of the first winding over that of the second.
    pub ratio: f64,
    /// Leakage impedance of the pair, on the second side, in ohms.
    pub leakage_ohm: Complex64,
}

/// A winding with a centre-tapped second side, in the interlaced form: one half's leakage differs from what the
/// whole shows (W. H. Kersting, Distribution System Modeling and Analysis, centre-tapped transformers).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CentreTapped {
    /// Ends of the first winding.
    pub first: (Conductor, Conductor),
    /// Rated voltage of the first winding over that of one half.
    pub ratio: f64,
    /// Leakage of the first winding, on the first side, in ohms.
    pub first_ohm: Complex64,
    /// Leakage of each half, in ohms.
    pub half_ohm: [Complex64; 2],
}

impl CentreTapped {
    /// From the nameplate: rated power, first voltage, voltage of one half, R + jX of the whole in per unit.
    /// Z_0 = 0.5 R + j0.8 X on the first side, Z_1 = Z_2 = R + j0.4 X on the base of one half (interlaced design,
    /// same source).
    pub fn interlaced(
        first: (Conductor, Conductor),
        rated_va: f64,
        first_v: f64,
        half_v: f64,
        z_pu: Complex64,
    ) -> Self {
        let half = Complex64::new(z_pu.re, 0.4 * z_pu.im) * (half_v * half_v / rated_va);
        let first_ohm = Complex64::new(0.5 * z_pu.re, 0.8 * z_pu.im) * (first_v * first_v / rated_va);
        Self { first, ratio: first_v / half_v, first_ohm, half_ohm: [half, half] }
    }
}

impl Network {
    /// Adds a transformer of winding pairs that do not couple among each other.
    ///
    /// # Errors
    /// An unknown bus or conductor, no pair, a ratio that is not above zero, a leakage that is zero, not finite or
    /// of negative resistance.
    pub fn transformer(
        &mut self,
        name: &str,
        first: BusIx,
        second: BusIx,
        pairs: &[Windings],
    ) -> Result<ElementIx, ModelError> {
        if pairs.is_empty() {
            let part = name.to_owned();
            return Err(ModelError::Count { part, what: "winding pairs", count: 0, needed: 1 });
        }
        let n = pairs.len();
        let mut z = vec![Complex64::default(); n * n];
        let (mut terms, mut links) = (Vec::new(), Vec::new());
        for (k, pair) in pairs.iter().enumerate() {
            ratio(name, pair.ratio)?;
            z[k * n + k] = pair.leakage_ohm;
            let [p1, p2] = self.winding(name, first, pair.first)?;
            let [s1, s2] = self.winding(name, second, pair.second)?;
            let c = 1.0 / pair.ratio;
            terms.push(loop_terms(&[(p1, c), (p2, -c), (s1, -1.0), (s2, 1.0)]));
            links.extend([(p1, p2), (s1, s2)]);
        }
        let y_s = admittances(name, n, &z)?;
        Ok(self.push_element(Element { name: name.to_owned(), terms, y_s, links, line: None }))
    }

    /// Adds a three-phase transformer, wye to wye, both star points on the neutrals of their buses (earth where a
    /// bus has none).
    ///
    /// # Errors
    /// As [`Network::transformer`].
    pub fn wye_wye(
        &mut self,
        name: &str,
        first: BusIx,
        second: BusIx,
        turns: f64,
        leakage_ohm: Complex64,
    ) -> Result<ElementIx, ModelError> {
        let star = |bus: BusIx| {
            let neutral = self.buses.get(bus.0).is_some_and(|b| b.conductors.contains(&N));
            if neutral { N } else { Conductor::Earth }
        };
        let (a, b) = (star(first), star(second));
        let pairs =
            [L1, L2, L3].map(|leg| Windings { first: (leg, a), second: (leg, b), ratio: turns, leakage_ohm });
        self.transformer(name, first, second, &pairs)
    }

    /// Adds a transformer with a centre-tapped second side on L1, N, L2 of its bus.
    ///
    /// Loops: L1 to N sees V_p/n - V_1N, L2 to N sees -V_p/n - V_2N (it counts its own current outward, and the
    /// tap is the dotted end of the second half). The first winding carries (I_1 - I_2)/n through Z_0:
    /// z = [[Z_1 + Z_0/n^2, -Z_0/n^2], [-Z_0/n^2, Z_2 + Z_0/n^2]].
    ///
    /// # Errors
    /// As [`Network::transformer`].
    pub fn centre_tapped(
        &mut self,
        name: &str,
        first: BusIx,
        second: BusIx,
        t: &CentreTapped,
    ) -> Result<ElementIx, ModelError> {
        ratio(name, t.ratio)?;
        let [p1, p2] = self.winding(name, first, t.first)?;
        let [l1, n] = self.winding(name, second, (L1, N))?;
        let [l2, _] = self.winding(name, second, (L2, N))?;
        let shared = t.first_ohm / (t.ratio * t.ratio);
        let z = [t.half_ohm[0] + shared, -shared, -shared, t.half_ohm[1] + shared];
        let c = 1.0 / t.ratio;
        let terms = vec![
            loop_terms(&[(p1, c), (p2, -c), (l1, -1.0), (n, 1.0)]),
            loop_terms(&[(p1, -c), (p2, c), (l2, -1.0), (n, 1.0)]),
        ];
        let links = vec![(p1, p2), (l1, n), (l2, n)];
        let y_s = admittances(name, 2, &z)?;
        Ok(self.push_element(Element { name: name.to_owned(), terms, y_s, links, line: None }))
    }

    fn winding(&self, part: &str, bus: BusIx, ends: (Conductor, Conductor)) -> Result<[Node; 2], ModelError> {
        if ends.0 == ends.1 {
            return Err(ModelError::SameEnds { part: part.to_owned() });
        }
        Ok([self.node(part, bus, ends.0)?, self.node(part, bus, ends.1)?])
    }
}

fn ratio(part: &str, value: f64) -> Result<(), ModelError> {
    if value.is_finite() && value > 0.0 {
        return Ok(());
    }
    let (what, allowed) = ("ratio", "finite and above zero");
    Err(ModelError::OutOfRange { part: part.to_owned(), what, value, allowed })
}
