//! Hydrogen of batteries and the air that keeps it thin: by IEC 62485-2, and by the volume form of battery rooms in US
//! practice. For lead-acid and nickel-cadmium cells. A sealed lithium battery gives none in use and is not reached; nor
//! is what any battery gives off in a fault.

use derivation::{Known, Refused, formula};
use quantity::{AirFlow, Area, Charge, ChargeRate, DcCurrent, GasYield, Length, Quantity, Ratio, Volume};
use tables::TableError;
use tables::battery_gas::{air_yield, distance_factor, opening_factor};

const FLOW: &str = "IEC 62485-2, 7.2 (confirm in the adopted standard)";
const OPENING: &str = "IEC 62485-2, 7.3 (from memory, confirm in the adopted standard)";
const DISTANCE: &str = "IEC 62485-2, 7.6 (from memory, confirm in the adopted standard)";
const ROOM: &str = "UFC 3-410-04N, battery room ventilation";
/// Cubic metres a second in a cubic foot a minute.
const CFM_M3_S: f64 = 0.028_316_846_592 / 60.0;
const HOUR_S: f64 = 3600.0;

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum HydrogenError {
    /// A value that cannot be.
    #[error(transparent)]
    Refused(#[from] Refused),
    /// A table that gives none.
    #[error(transparent)]
    Table(#[from] TableError),
}

/// A battery as ventilation sees it.
#[derive(Debug, Clone)]
pub struct GassingBank {
    /// Cells in series.
    pub cells: Known<Ratio>,
    /// Strings in parallel.
    pub strings: Known<Ratio>,
    /// Rated capacity of one string: 10 h for lead-acid, 5 h for nickel-cadmium.
    pub capacity: Known<Charge>,
}

/// Ventilation that IEC 62485-2 asks for.
#[derive(Debug, Clone)]
pub struct Ventilation {
    /// Air flow.
    pub flow: Known<AirFlow>,
    /// Free opening of inlet and outlet each, where the air moves by itself.
    pub opening: Known<Area>,
    /// Distance from the cells within which nothing may spark or glow.
    pub distance: Known<Length>,
}

/// Ventilation at a gas-producing current: `Q = 0.05 n I_gas C / 1000` in m3/h with mA/Ah and Ah, `A = 28 Q` in cm2,
/// `d = 28.8 (I_gas)^(1/3) (C)^(1/3)` in mm.
///
/// # Errors
/// A count is not whole, or a value not above zero.
pub fn ventilation(bank: &GassingBank, gassing: &Known<ChargeRate>) -> Result<Ventilation, HydrogenError> {
    let GassingBank { cells, strings, capacity } = bank;
    cells.whole()?;
    strings.whole()?;
    capacity.above_zero()?;
    gassing.within(1e-6, 1.0, "above 0 and at most 1 A for each Ah")?;
    let k = air_yield()?;
    let flow: Known<AirFlow> = formula!("Q", "air flow", [k, cells, strings, gassing, capacity]
        => k * (cells * strings * (gassing * capacity)), source = FLOW);
    let c = opening_factor()?;
    let opening =
        formula!("A", "free opening of inlet and outlet each", [c, flow] => cm2(c * flow), source = OPENING);
    let c = distance_factor()?;
    let distance = formula!("d", "safety distance", [c, gassing, capacity] => mm(c, gassing, capacity), source = DISTANCE);
    Ok(Ventilation { flow, opening, distance })
}

/// cm2 for m3/h.
fn cm2(flow: AirFlow) -> Area {
    Area::of(flow.si() * HOUR_S * 1e-4)
}

fn mm(factor: Ratio, gassing: ChargeRate, capacity: Charge) -> Length {
    Length::of(factor.si() * libm::cbrt(gassing.si() * 1000.0) * libm::cbrt(capacity.si()) * 1e-3)
}

/// A battery room by volume of hydrogen.
#[derive(Debug, Clone)]
pub struct BatteryRoom {
    /// Cells of one bank.
    pub cells: Known<Ratio>,
    /// Capacity of a cell.
    pub capacity: Known<Charge>,
    /// Charging current for each Ah at the end of charging, at the hottest electrolyte.
    pub charging: Known<ChargeRate>,
    /// Hydrogen of one cell from each Ah.
    pub hydrogen_yield: Known<GasYield>,
    /// Largest share of hydrogen in the air.
    pub limit: Known<Ratio>,
    /// Banks in the room.
    pub banks: Known<Ratio>,
    /// Factor for air that does not mix well, 1 and above.
    pub mixing: Known<Ratio>,
    /// Volume of the room.
    pub room: Known<Volume>,
}

/// Exhaust of a battery room.
#[derive(Debug, Clone)]
pub struct Exhaust {
    /// Hydrogen of one bank.
    pub hydrogen: Known<AirFlow>,
    /// Air for one bank.
    pub per_bank: Known<AirFlow>,
    /// Air for the room; the air of one bank goes up to a whole cubic foot a minute first.
    pub total: Known<AirFlow>,
    /// Air changes an hour.
    pub changes_per_h: Known<Ratio>,
}

/// Exhaust by volume of hydrogen.
///
/// # Errors
/// A value is outside its range, or the limit above 2 %: half of what burns.
pub fn exhaust(room: &BatteryRoom) -> Result<Exhaust, Refused> {
    let BatteryRoom { cells, capacity, charging, hydrogen_yield, limit, banks, mixing, room } = room;
    cells.whole()?;
    banks.whole()?;
    capacity.above_zero()?;
    charging.above_zero()?;
    hydrogen_yield.above_zero()?;
    room.above_zero()?;
    limit.within(1e-4, 0.02, "above 0 and at most 2 %, half of what burns")?;
    mixing.within(1.0, 100.0, "1 or more")?;
    let current: Known<DcCurrent> = formula!("I_g", "gas-producing current of all cells", [cells, charging, capacity]
        => cells * (charging * capacity));
    let hydrogen: Known<AirFlow> = formula!("H", "hydrogen of a bank", [hydrogen_yield, current] => hydrogen_yield * current, source = ROOM);
    let per_bank = formula!("V_1", "air for a bank", [hydrogen, limit] => hydrogen / limit, source = ROOM);
    let total = formula!("V", "air for the room", [per_bank, banks, mixing]
        => whole_cfm(per_bank) * banks * mixing, source = ROOM);
    let changes_per_h = formula!("n", "air changes an hour", [total, room] => changes(total, room));
    Ok(Exhaust { hydrogen, per_bank, total, changes_per_h })
}

/// Up to the next whole cubic foot a minute.
fn whole_cfm(flow: AirFlow) -> AirFlow {
    AirFlow::of((flow.si() / CFM_M3_S).ceil() * CFM_M3_S)
}

fn changes(flow: AirFlow, room: Volume) -> Ratio {
    Ratio::of(flow.si() * HOUR_S / room.si())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::given;

    fn n(x: f64) -> Known<Ratio> {
        given(Ratio::of(x))
    }

    /// VEN-02: 24 cells of 200 Ah, 1 and 8 mA/Ah.
    #[test]
    fn by_the_standard() {
        let bank = GassingBank { cells: n(24.0), strings: n(1.0), capacity: given(Charge::of(200.0)) };
        for (gassing, flow, opening) in [(1e-3, 0.24, 6.72), (8e-3, 1.92, 53.76)] {
            let found = ventilation(&bank, &given(ChargeRate::of(gassing))).unwrap();
            assert!((found.flow.value().si() * HOUR_S - flow).abs() < 1e-9);
            assert!((found.opening.value().si() * 1e4 - opening).abs() < 1e-9);
        }
        // 28.8 · 2 · 5.848 mm at 8 mA/Ah
        let found = ventilation(&bank, &given(ChargeRate::of(8e-3))).unwrap();
        assert!((found.distance.value().si() * 1000.0 - 28.8 * 2.0 * 5.848_035_5).abs() < 1e-4);
        assert!(derivation::explain(found.opening.node()).contains("confirm"));
        let twice = GassingBank { strings: n(2.0), ..bank.clone() };
        let double = ventilation(&twice, &given(ChargeRate::of(8e-3))).unwrap();
        assert!((double.flow.value().si() / found.flow.value().si() - 2.0).abs() < 1e-12);
        assert!(ventilation(&bank, &given(ChargeRate::of(0.0))).is_err());
    }

    /// VEN-01: 182 cells of 1360 Ah, three banks, mixing 2: 32 cfm a bank, 192 cfm, 1.44 changes.
    #[test]
    fn by_volume_of_hydrogen() {
        const FT3: f64 = 0.028_316_846_592;
        let room = BatteryRoom {
            cells: n(182.0),
            capacity: given(Charge::of(1360.0)),
            charging: given(ChargeRate::of(0.0048)),
            hydrogen_yield: given(GasYield::of(0.016 * FT3)),
            limit: n(0.01),
            banks: n(3.0),
            mixing: n(2.0),
            room: given(Volume::of(8000.0 * FT3)),
        };
        let found = exhaust(&room).unwrap();
        assert!((found.hydrogen.value().si() / FT3 * HOUR_S - 19.009_536).abs() < 1e-9);
        assert!((found.total.value().si() / CFM_M3_S - 192.0).abs() < 1e-9);
        assert!((found.changes_per_h.value().si() - 1.44).abs() < 1e-12);
        assert!(exhaust(&BatteryRoom { limit: n(0.04), ..room }).is_err());
    }
}
