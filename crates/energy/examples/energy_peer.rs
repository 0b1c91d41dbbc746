//! Sun, dispatch and carry times from standard input to standard output: the door for outside checks
//! (`peers/`).
//!
//! In: a line of JSON with `task`, then its columns as 64-bit floats, little-endian, one after the other.
//! Out: a line of JSON with the times in seconds, then columns likewise. Times are the least of `repeats`
//! runs, one thread.
//!
//! `sun`: place, plane, array, cells by Faiman or with `king` (a, b, rise) by King; columns GHI, DNI, DHI, air, wind. Out: direction (up, south, west), light,
//! power.
//! `dispatch`: designs, charges; columns of loads, array, utility, spend, fill. Out: totals in JSON.
//! `weather`: a file after the line of JSON, `format` tmy3 or epw. Out: GHI, DNI, DHI, air, wind, and the
//! repairs.
//! `carry`: one design; the same columns. Out: steps carried, charge and heat budget at each start.

use std::error::Error;
use std::hint::black_box;
use std::io::{Read, Write};
use std::time::Instant;

use energy::array::{Array, CellModel};
use energy::outage::{YearEnd, carry_times};
use energy::plane::{Incidence, Plane, Radiation, SkyModel, plane_w_m2, sky};
use energy::sun::{Frames, Observer, columns};
use energy::weather::{read_epw, read_tmy3};
use energy::year::{
    Battery, Converter, Design, Generator, Hour, PanelArray, Series, Shedding, Utility, simulate,
    simulate_many,
};
use serde_json::{Value, json};

type Fallible<T> = Result<T, Box<dyn Error>>;
type Answer = (Value, Vec<Vec<f64>>);

fn main() -> Fallible<()> {
    let mut bytes = Vec::new();
    std::io::stdin().read_to_end(&mut bytes)?;
    let line = bytes.iter().position(|b| *b == b'\n').ok_or("no line of JSON")?;
    let head: Value = serde_json::from_slice(&bytes[..line])?;
    if head["task"] == "weather" {
        let file = &bytes[line + 1..];
        let read = if head["format"] == "epw" { read_epw(file)? } else { read_tmy3(file)? };
        let told = json!({ "repairs": read.repairs.iter().map(|r| (r.count, r.what)).collect::<Vec<_>>() });
        return write(&told, &[read.ghi_w_m2, read.dni_w_m2, read.dhi_w_m2, read.air_degc, read.wind_m_s]);
    }
    let floats: Vec<f64> = bytes[line + 1..]
        .chunks_exact(8)
        .map(|c| c.try_into().map(f64::from_le_bytes))
        .collect::<Result<_, _>>()?;
    let count = number(&head, "count")? as usize;
    let given: Vec<&[f64]> = floats.chunks(count).collect();
    let (told, out) = match head["task"].as_str() {
        Some("sun") => sun(&head, &given)?,
        Some("dispatch") => dispatch(&head, &given)?,
        Some("carry") => carry(&head, &given)?,
        _ => return Err("no such task".into()),
    };
    write(&told, &out)
}

fn write(told: &Value, columns: &[Vec<f64>]) -> Fallible<()> {
    let mut stdout = std::io::stdout().lock();
    writeln!(stdout, "{told}")?;
    for column in columns {
        let bytes: Vec<u8> = column.iter().flat_map(|x| x.to_le_bytes()).collect();
        stdout.write_all(&bytes)?;
    }
    Ok(())
}

fn number(from: &Value, key: &str) -> Fallible<f64> {
    from[key].as_f64().ok_or_else(|| format!("{key} is missing").into())
}

/// The answer and the least time of some runs.
fn timed<T>(head: &Value, mut run: impl FnMut() -> Fallible<T>) -> Fallible<(T, f64)> {
    let mut best = f64::INFINITY;
    let mut answer = None;
    for _ in 0..number(head, "repeats")? as usize {
        let start = Instant::now();
        let found = black_box(run()?);
        best = best.min(start.elapsed().as_secs_f64());
        answer = Some(found);
    }
    Ok((answer.ok_or("no repeats")?, best))
}

fn sun(head: &Value, given: &[&[f64]]) -> Fallible<Answer> {
    let &[ghi_w_m2, dni_w_m2, dhi_w_m2, air, wind] = given else {
        return Err("five columns are needed".into());
    };
    let n = |key| number(head, key);
    let place = Observer {
        latitude_deg: n("latitude_deg")?,
        longitude_deg: n("longitude_deg")?,
        elevation_m: n("elevation_m")?,
        pressure_pa: n("pressure_pa")?,
        temperature_degc: n("temperature_degc")?,
    };
    let plane = Plane {
        tilt_deg: n("tilt_deg")?,
        azimuth_deg: n("azimuth_deg")?,
        albedo: n("albedo")?,
        incidence: Incidence::Ignored,
    };
    let array = Array {
        peak_w: n("peak_w")?,
        gamma_per_k: n("gamma_per_k")?,
        losses: 0.0,
        controller_limit_w: n("limit_w")?,
        controller_efficiency: 1.0,
        cells: match head["king"].as_array() {
            Some(_) => {
                let [a, b_s_m, rise_k] = serde_json::from_value(head["king"].clone())?;
                CellModel::King { a, b_s_m, rise_k }
            }
            None => CellModel::Faiman { u0_w_m2_k: 25.0, u1_ws_m3_k: 6.84 },
        },
    };
    let model = match head["model"].as_str() {
        Some("isotropic") => SkyModel::Isotropic,
        Some("haydavies") => SkyModel::HayDavies,
        _ => SkyModel::Perez,
    };
    let light = Radiation { ghi_w_m2, dni_w_m2, dhi_w_m2 };
    let (start, step) = (n("start_unix_s")?, n("step_s")?);
    let (found, seconds) = timed(head, || {
        let frames = Frames::new(start, step * ghi_w_m2.len() as f64)?;
        let sun = columns(&frames, &place, start, step, ghi_w_m2.len())?;
        let sky = sky(model, &sun, &light)?;
        let poa = plane_w_m2(&plane, &sun, &light, &sky, None)?;
        let power = array.column_w(air, &poa, wind)?;
        Ok((sun, poa, power))
    })?;
    let (sun, poa, power) = found;
    Ok((json!({ "seconds": seconds }), vec![sun.up, sun.south, sun.west, poa, power]))
}

fn design(from: &Value) -> Fallible<Design> {
    let n = |key| number(from, key);
    Ok(Design {
        battery: Battery {
            capacity_wh: n("capacity")?,
            floor_wh: n("floor")?,
            reserve_wh: n("reserve")?,
            charge_limit_w: n("charge")?,
            discharge_limit_w: n("discharge")?,
            charge_efficiency: n("into")?,
            discharge_efficiency: n("out")?,
            taper_from_wh: n("taper")?,
            holds_w_per_wh: Battery::ANY_CHARGE_W_PER_WH,
            self_discharge_per_day: n("fading")?,
        },
        converter: Converter {
            rating_w: n("rating")?,
            peak_w: n("peak")?,
            heat_budget_wh: n("budget")?,
            heat_recovery: n("recovery")?,
            idle_w: n("idle")?,
            loss_per_w: n("k1")?,
            loss_per_w2: n("k2")?,
            charger_limit_w: n("charger")?,
        },
        array_scale: n("array")?,
        panel_array: PanelArray::NONE,
        utility: Utility {
            input_limit_w: n("input")?,
            relay_limit_w: n("relay")?,
            export_limit_w: n("export")?,
        },
        generator: Generator {
            power_w: n("engine")?,
            start_wh: n("engine_start")?,
            stop_wh: n("engine_stop")?,
            warm_up_s: n("engine_warm_s")?,
            minimum_run_s: n("engine_least_s")?,
            idle_l_per_h: n("fuel_idle")?,
            l_per_kwh: n("fuel_per_kwh")?,
            tank_l: n("tank")?,
        },
        shedding: Shedding {
            shed_wh: [n("shed1")?, n("shed2")?],
            restore_wh: [n("back1")?, n("back2")?],
            restart_wh: n("restart")?,
        },
    })
}

fn hours(given: &[&[f64]]) -> Vec<Hour> {
    let flag = |k: usize, column: usize| given[column][k] > 0.5;
    (0..given[4].len()).map(|k| Hour { utility: flag(k, 4), spend: flag(k, 5), fill: flag(k, 6) }).collect()
}

fn series<'a>(head: &Value, given: &[&'a [f64]], hours: &'a [Hour]) -> Fallible<Series<'a>> {
    let step_s = number(head, "step_s")?;
    Ok(Series {
        step_s,
        loads_w: [given[0], given[1], given[2]],
        array_w: given[3],
        panel_array_w: &[],
        hours,
    })
}

fn dispatch(head: &Value, given: &[&[f64]]) -> Fallible<Answer> {
    if given.len() != 7 {
        return Err("seven columns are needed".into());
    }
    let list = head["designs"].as_array().ok_or("no designs")?;
    let designs: Vec<Design> = list.iter().map(design).collect::<Fallible<_>>()?;
    let first: Vec<f64> = designs.iter().map(|d| d.battery.capacity_wh / 2.0).collect();
    let hours = hours(given);
    let series = series(head, given, &hours)?;
    let (found, seconds) = timed(head, || Ok(simulate_many(&designs, &series, &first)?))?;
    let totals = found.iter().map(|(t, last)| {
        json!([
            t.array_used_wh,
            t.import_wh,
            t.export_wh,
            t.generated_wh,
            t.served0_wh,
            t.served1_wh,
            t.served2_wh,
            t.converter_loss_wh,
            t.battery_loss_wh,
            t.fuel_l,
            last
        ])
    });
    Ok((json!({ "seconds": seconds, "totals": totals.collect::<Vec<_>>() }), Vec::new()))
}

fn carry(head: &Value, given: &[&[f64]]) -> Fallible<Answer> {
    if given.len() != 7 {
        return Err("seven columns are needed".into());
    }
    let design = design(&head["design"])?;
    let hours = hours(given);
    let series = series(head, given, &hours)?;
    let year = simulate(&design, &series, design.battery.capacity_wh / 2.0)?;
    let (found, seconds) = timed(head, || Ok(carry_times(&design, &series, &year, 3, YearEnd::Wraps)?))?;
    let steps = found.steps.iter().map(|s| f64::from(*s)).collect();
    Ok((
        json!({ "seconds": seconds }),
        vec![steps, year.stored_wh[..hours.len()].to_vec(), year.heat_left_wh],
    ))
}
