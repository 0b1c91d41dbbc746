//! Measured demand: a panel's interval data in the place of the loads that it holds.

use derivation::{Known, formula};
use finding::{Finding, Severity};
use quantity::{Apparent, Connection, Duration, Leg, Power, Quantity, Ratio};
use saying::say;
use site::{LegWish, Measured};

use crate::duration::OnTime;
use crate::pieces::{Context, Piece, complex, sine_crest};
use crate::series::{Series, Tracks};
use crate::track::Track;

/// Measured demand of one panel, as pieces that run like loads: one for each leg.
pub(crate) struct MeasuredDemand {
    pub panel: String,
    pub pieces: Vec<Piece>,
    /// Shorter durations are not covered; none where the site states how far peaks of seconds go.
    pub covered_from: Option<Known<Duration>>,
}

/// Power factor used where only kW was recorded and the site states none.
pub(crate) const POWER_FACTOR: f64 = 0.85;

/// Makes the pieces of a series.
pub(crate) fn demand(measured: &Measured, series: &Series, context: &mut Context<'_>) -> MeasuredDemand {
    context.findings.push(no_starts(measured));
    if measured.power_factor.is_none() {
        context.assumptions.take(
            "pf",
            "power factor of measured demand where only kW was recorded",
            Ratio::of(POWER_FACTOR),
            "common practice; state power_factor where it is known",
        );
    }
    let pieces = match &series.tracks {
        Tracks::Legs(legs) => {
            legs.iter().map(|(leg, track)| piece(measured, *leg, (series, track), context)).collect()
        }
        Tracks::Total(track) => {
            context.findings.push(legs_unknown(measured));
            let legs = context.system.legs();
            let mut pieces: Vec<Piece> =
                legs.iter().map(|leg| piece(measured, *leg, (series, track), context)).collect();
            // all of it may be on any one leg, but only once
            let names: Vec<String> = pieces.iter().map(|p| p.name.clone()).collect();
            for (k, piece) in pieces.iter_mut().enumerate() {
                piece.never_with = names.iter().filter(|n| **n != piece.name).cloned().collect();
                if k > 0 {
                    (piece.daily_s, piece.worst_day_s) = (0.0, 0.0);
                }
            }
            pieces
        }
    };
    let interval = Duration::of(series.interval_s);
    let covered_from = measured
        .short_peak_factor
        .is_none()
        .then(|| Known::input("t_i", "interval of the measured demand", interval, &measured.file.place));
    MeasuredDemand { panel: measured.panel.value.clone(), pieces, covered_from }
}

fn piece(
    measured: &Measured,
    leg: Leg,
    (series, track): (&Series, &Track),
    context: &mut Context<'_>,
) -> Piece {
    let name = format!("measured demand {leg}");
    let place = &measured.file.place;
    let P_i = Known::input("P_i", format!("highest interval mean, {leg}"), Power::of(track.peak_w()), place);
    let S_i =
        Known::input("S_i", format!("highest interval mean, {leg}"), Apparent::of(track.peak_va()), place);
    let k = measured
        .short_peak_factor
        .as_ref()
        .map(|k| k.known("k", "highest demand of seconds over highest interval mean"));
    let (power, apparent) = match &k {
        Some(k) => (
            formula!("P", format!("highest demand, {leg}"), [P_i, k] => P_i * k),
            formula!("S", format!("highest demand, {leg}"), [S_i, k] => S_i * k),
        ),
        None => (P_i, S_i),
    };
    let factor = k.as_ref().map_or(1.0, |k| k.value().si().max(1.0));
    let mut envelope = track.envelope_w();
    for point in &mut envelope.points {
        point.1 /= factor;
    }
    let peak_w = power.value().si();
    let mean_s = if peak_w > 0.0 { track.mean_w() / peak_w * 86_400.0 } else { 0.0 };
    let day_s = if peak_w > 0.0 { track.highest_mean_w(86_400.0) / peak_w * 86_400.0 } else { 0.0 };
    let crest = sine_crest(context);
    let connection = Connection::LineToNeutral(leg);
    Piece {
        name,
        panel: measured.panel.value.clone(),
        at_once: 1,
        wish: LegWish::On(connection),
        placed: vec![(connection, 1)],
        count: 1,
        power_va: complex(power.value().si(), apparent.value().si()),
        power,
        apparent,
        peak_over_fundamental: crest.value().si(),
        crest,
        third: 0.0,
        on: OnTime { daily_s: 86_400.0, run: None, measured: Some(envelope.into()) },
        daily_s: mean_s,
        worst_day_s: day_s,
        // which part of it lasts three hours is not known: all of it
        continuous: true,
        season: None,
        hourly: Some(crate::profile::by_record(series, track, day_s)),
        shed: None,
        never_with: Vec::new(),
        in_measured: false,
        motor: None,
        place: measured.place.clone(),
    }
}

fn no_starts(measured: &Measured) -> Finding {
    Finding::new(
        "measured-no-starts",
        Severity::Warning,
        &measured.panel.value,
        say!(
            "interval data cannot show motor starts: only the motors listed as loads are started on top of it"
        ),
    )
    .at(Some(&measured.file.place), say!("means over whole intervals"))
    .fix(say!("list every motor inside the measured demand as a load with in_measured = true"))
}

/// The file is missing or has mistakes: nothing is known of the panel's demand.
pub(crate) fn unusable(measured: &Measured) -> Finding {
    Finding::new(
        "measured-unusable",
        Severity::NotCovered,
        &measured.panel.value,
        say!("{file} cannot be used, so the demand of this panel is not known", file = measured.file.value),
    )
    .at(Some(&measured.file.place), say!("this file cannot be used"))
    .fix(say!("mend the file where its mistakes are listed, or choose another method under [demand]"))
}

fn legs_unknown(measured: &Measured) -> Finding {
    Finding::new(
        "measured-legs-unknown",
        Severity::NotCovered,
        &measured.panel.value,
        say!("only the total was recorded: which leg carries how much of it is not known"),
    )
    .at(Some(&measured.file.place), say!("no column for each leg"))
    .fix(say!("record each leg (L1_kw, L2_kw, ...)"))
}
