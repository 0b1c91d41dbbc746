//! Connected load, and the energy of a day and of each month.

use derivation::{Known, formula};
use quantity::{Angle, Duration, Energy, Power, Ratio};
use site::Season;

use crate::panel::Members;
use crate::pieces::Piece;

impl<'a> Members<'a> {
    /// All loads at once.
    pub fn connected(&self) -> Known<Power> {
        let parts: Vec<Known<Power>> = self.pieces.iter().map(|p| all_of(p)).collect();
        Known::sum("P_conn", "connected load", &parts)
    }

    /// Loads marked or found continuous.
    pub fn continuous(&self) -> Known<Power> {
        let parts: Vec<Known<Power>> =
            self.pieces.iter().filter(|p| p.continuous).map(|p| all_of(p)).collect();
        Known::sum("P_cont", "continuous load", &parts)
    }

    /// Energy of the day on which everything runs as long as it may, in the worse season.
    pub fn daily_energy(&self) -> Known<Energy> {
        let of_season = |season: Season, word: &str| {
            let parts: Vec<Known<Energy>> = self.in_season(season).map(|p| day(p, p.worst_day_s)).collect();
            Known::sum("E_day", format!("energy of a full day in {word}"), &parts)
        };
        let both = [of_season(Season::Summer, "summer"), of_season(Season::Winter, "winter")];
        let [summer, winter] = both;
        if !self.seasonal() {
            return summer;
        }
        let what = "energy of a full day in the worse season";
        Known::largest("E_day", what, &[summer.clone(), winter]).unwrap_or(summer)
    }

    pub(crate) fn seasonal(&self) -> bool {
        self.pieces.iter().any(|p| p.season.is_some())
    }

    fn in_season(&self, season: Season) -> impl Iterator<Item = &&'a Piece> {
        self.pieces.iter().filter(move |p| p.season.is_none_or(|its| its == season))
    }

    /// Energy of each month, with the loads of its season at the site's latitude.
    pub fn monthly(&self, latitude: Option<Angle>) -> Vec<Known<Energy>> {
        const MONTHS: [(&str, f64); 12] = [
            ("January", 31.0),
            ("February", 28.0),
            ("March", 31.0),
            ("April", 30.0),
            ("May", 31.0),
            ("June", 30.0),
            ("July", 31.0),
            ("August", 31.0),
            ("September", 30.0),
            ("October", 31.0),
            ("November", 30.0),
            ("December", 31.0),
        ];
        MONTHS
            .iter()
            .enumerate()
            .map(|(k, (name, days))| {
                let season = Season::of_month(k, latitude);
                let parts: Vec<Known<Energy>> = self.in_season(season).map(|p| day(p, p.daily_s)).collect();
                let E = Known::sum("E_d", format!("energy of a day in {name}"), &parts);
                let n = Known::factor("n", format!("days of {name}"), *days, "calendar");
                formula!("E_m", format!("energy of {name}"), [E, n] => E * n)
            })
            .collect()
    }
}

fn all_of(piece: &Piece) -> Known<Power> {
    let P = &piece.power;
    let n = Known::chosen("n", "number", Ratio::of(f64::from(piece.count)), "site file", Vec::new());
    formula!("P", format!("all of {}", piece.name), [P, n] => P * n)
}

/// Energy of a load in a day: every instance runs its time, no more at once than may run.
fn day(piece: &Piece, seconds: f64) -> Known<Energy> {
    let P = &piece.power;
    let all_s = (f64::from(piece.count) * seconds).min(f64::from(piece.at_once) * 86_400.0);
    let why = format!("{} of them, {} a day each", piece.count, Duration::of(seconds));
    let t = Known::chosen("t", format!("running time of {}", piece.name), Duration::of(all_s), why, vec![]);
    formula!("E", format!("energy of {} in a day", piece.name), [P, t] => P * t)
}
