//! Days drawn for a month whose mean clearness is known.

/// A stream of numbers that a seed fixes: SplitMix64 (Steele, Lea and Flood 2014; public domain constants).
pub(super) struct Draw(u64);

impl Draw {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// Evenly between 0 and 1, ends left out.
    pub fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        ((z >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// Normal with mean 0 and variance 1 (Box and Muller).
    pub fn normal(&mut self) -> f64 {
        let (a, b) = (self.even(), self.even());
        (-2.0 * libm::log(a)).sqrt() * libm::cos(2.0 * core::f64::consts::PI * b)
    }
}

/// Least clearness of a day (Bendt et al. 1981).
const LEAST: f64 = 0.05;

/// The distribution of daily clearness in a month of mean `mean` (Bendt, Collares-Pereira and Rabl, Solar
/// Energy 27 (1981) 1): density growing as exp(g K) between a least and a most; the most after Hollands and
/// Huget (1983), as Duffie and Beckman 2.9.6 has it; g is solved for, so that the mean is right.
pub(super) struct Clearness {
    most: f64,
    g: f64,
}

impl Clearness {
    pub fn new(mean: f64) -> Self {
        let eighth = libm::pow(mean - 0.75, 8.0);
        let most = (0.6313 + 0.267 * mean - 11.9 * eighth).clamp(mean + 0.02, 0.85);
        let (mut low, mut high) = (-200.0, 200.0);
        for _ in 0..80 {
            let g = f64::midpoint(low, high);
            if Self::mean_of(g, most) < mean { low = g } else { high = g }
        }
        Self { most, g: f64::midpoint(low, high) }
    }

    fn mean_of(g: f64, most: f64) -> f64 {
        let width = most - LEAST;
        let x = g * width;
        if x.abs() < 1e-6 {
            return f64::midpoint(LEAST, most);
        }
        // mean of exp(g u) on 0 to width
        LEAST + width * (1.0 / (1.0 - libm::exp(-x)) - 1.0 / x)
    }

    /// The clearness below which a share `u` of days lies.
    pub fn at(&self, u: f64) -> f64 {
        let width = self.most - LEAST;
        let x = self.g * width;
        let part = if x.abs() < 1e-6 { u } else { libm::log1p(u * libm::expm1(x)) / x };
        LEAST + width * part.clamp(0.0, 1.0)
    }
}

/// Days of a month: clearness of mean exactly `mean`, in an order in which a day remembers a little of the
/// one before (first order, 0.29: Graham, Hollands and Huget, Solar Energy 40 (1988) 83). Returned with the
/// normal deviate of each day.
pub(super) fn month(draw: &mut Draw, mean: f64, days: usize) -> Vec<(f64, f64)> {
    const MEMORY: f64 = 0.29;
    let clearness = Clearness::new(mean);
    let mut deviate = draw.normal();
    let mut out = Vec::with_capacity(days);
    for _ in 0..days {
        deviate = MEMORY * deviate + (1.0 - MEMORY * MEMORY).sqrt() * draw.normal();
        let u = 0.5 * libm::erfc(-deviate / core::f64::consts::SQRT_2);
        out.push((clearness.at(u), deviate));
    }
    // a month has few days: moved until the mean is right, none beyond the ends
    for _ in 0..200 {
        let off = mean - out.iter().map(|d| d.0).sum::<f64>() / days as f64;
        for day in &mut out {
            day.0 = (day.0 + off).clamp(LEAST, clearness.most);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mean_of_a_month_is_what_was_asked_for() {
        let mut draw = Draw::new(7);
        for mean in [0.12, 0.3, 0.45, 0.6, 0.75] {
            let days = month(&mut draw, mean, 31);
            let found = days.iter().map(|d| d.0).sum::<f64>() / 31.0;
            assert!((found - mean).abs() < 1e-9, "{found} {mean}");
            let c = Clearness::new(mean);
            let many = (0..20_000).map(|k| c.at((f64::from(k) + 0.5) / 20_000.0)).sum::<f64>() / 20_000.0;
            assert!((many - mean).abs() < 1e-3, "{many} {mean}");
        }
    }

    #[test]
    fn deviates_are_normal() {
        let mut draw = Draw::new(1);
        let n: Vec<f64> = (0..40_000).map(|_| draw.normal()).collect();
        let mean = n.iter().sum::<f64>() / 40_000.0;
        let square = n.iter().map(|x| x * x).sum::<f64>() / 40_000.0;
        assert!(mean.abs() < 0.02 && (square - 1.0).abs() < 0.03, "{mean} {square}");
    }
}
