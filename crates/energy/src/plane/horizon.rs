//! The profile of the horizon.

use crate::EnergyError;
use crate::error::within;
use crate::sun::RAD;

/// Height of the horizon round the place, one value a degree.
#[derive(Debug, Clone, PartialEq)]
pub struct Horizon {
    /// Sine of the height at 0, 1, ... 359 degrees from north over east.
    sines: Vec<f64>,
    open_sky: f64,
}

impl Horizon {
    /// From points of direction (degrees from north over east) and height (degrees), joined by straight
    /// lines, the last with the first.
    ///
    /// Between two whole degrees the higher one counts, so that shade is not missed. Of the even light of the
    /// sky a horizontal plane keeps the mean of cos^2 of the height; that share is used for every tilt (the
    /// part of the hidden sky that a tilted plane would not have seen counts as hidden, and the other way
    /// round).
    ///
    /// # Errors
    /// No points, directions that do not rise within 0 to 360, heights outside 0 to 90 degrees.
    pub fn new(points: &[(f64, f64)]) -> Result<Self, EnergyError> {
        let (Some(first), Some(last)) = (points.first(), points.last()) else {
            return Err(EnergyError::Count {
                what: "points of the horizon",
                count: 0,
                needed: "at least 1 is needed".into(),
            });
        };
        for (direction, height) in points {
            within("direction in degrees", *direction, 0.0, 360.0, "from 0 to 360")?;
            within("height of the horizon in degrees", *height, 0.0, 90.0, "from 0 to 90")?;
        }
        if points.windows(2).any(|w| matches!(w, [a, b] if b.0 <= a.0)) || last.0 - first.0 >= 360.0 {
            return Err(EnergyError::NotCovered(
                "directions of the horizon must rise, and not come round again",
            ));
        }
        let mut round = vec![(last.0 - 360.0, last.1)];
        round.extend_from_slice(points);
        round.push((first.0 + 360.0, first.1));
        let height = |direction: f64| {
            for pair in round.windows(2) {
                if let [a, b] = pair
                    && direction <= b.0
                {
                    return a.1 + (b.1 - a.1) * (direction - a.0) / (b.0 - a.0);
                }
            }
            first.1
        };
        let heights: Vec<f64> = (0..=360).map(|d| height(f64::from(d))).collect();
        let kept = |h: f64| libm::cos(h * RAD) * libm::cos(h * RAD);
        let open_sky = heights.iter().take(360).map(|h| kept(*h)).sum::<f64>() / 360.0;
        // a point may stand between two whole degrees: it counts for both
        let mut sines: Vec<f64> =
            heights.windows(2).map(|w| libm::sin(w.iter().copied().fold(0.0, f64::max) * RAD)).collect();
        for (direction, height) in points {
            let at = (libm::floor(*direction) as usize) % 360;
            if let Some(sine) = sines.get_mut(at) {
                *sine = sine.max(libm::sin(height * RAD));
            }
        }
        Ok(Self { sines, open_sky })
    }

    /// Share of even light that a horizontal plane keeps.
    pub fn open_sky(&self) -> f64 {
        self.open_sky
    }

    /// Whether the sun in this direction (a unit vector: up, south, west) stands above the profile.
    pub fn shows(&self, up: f64, south: f64, west: f64) -> bool {
        if up <= 0.0 {
            return false;
        }
        let direction = crate::sun::turn(libm::atan2(west, south) / RAD + 180.0);
        self.sines.get(direction as usize).is_none_or(|sine| up > *sine)
    }
}
