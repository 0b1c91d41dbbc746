//! Catalogue files into records. Every mistake of every file is reported; a catalogue with a mistake is not used.

mod array_inverter;
mod check;
mod common;
mod dc;
mod gear;
mod storage;
mod unit;
mod unit_limits;
mod unit_source;

use std::collections::BTreeMap;

use derivation::Place;
use reading::{Diagnostic, Placed, Section, SourceText, describe, read_document};
use serde_json::Value;

use crate::{
    ArrayInverter, ArrayModule, BatteryModel, Breaker, BypassGear, Catalog, ChargeController, ConductorStock,
    DcBusbar, DcDevice, DistributionBoard, Generator, NeutralFormer, TransferSwitch, UnitModel,
};

/// Reads catalogue files and merges their records. An id that stands twice, in one file or in two, is a mistake:
/// no file overrides another. Files that state a currency must state the same one; a file without takes that of
/// the others. `None` as soon as there is one mistake.
pub fn read(sources: &[SourceText]) -> (Option<Catalog>, Vec<Diagnostic>) {
    let mut diagnostics = Vec::new();
    let mut merge = Merge::default();
    for source in sources {
        let (records, mistakes) = read_document(source, file);
        diagnostics.extend(mistakes);
        if let Some(records) = records {
            merge.take(records);
        }
    }
    diagnostics.extend(merge.mistakes);
    (diagnostics.is_empty().then_some(merge.catalog), diagnostics)
}

/// JSON Schema of a catalogue file, told by the reader itself. Flags that must be there and lists that must not be
/// empty are checked by the reader but not marked as required in the schema.
pub fn schema() -> Value {
    describe("Wattwright catalogue file", "urn:wattwright:schema:catalogue:1", file)
}

/// What one file holds.
struct Records {
    currency: Option<Placed<String>>,
    units: Vec<UnitModel>,
    batteries: Vec<BatteryModel>,
    modules: Vec<ArrayModule>,
    controllers: Vec<ChargeController>,
    array_inverters: Vec<ArrayInverter>,
    transfer_switches: Vec<TransferSwitch>,
    bypasses: Vec<BypassGear>,
    dc_devices: Vec<DcDevice>,
    dc_busbars: Vec<DcBusbar>,
    breakers: Vec<Breaker>,
    distributions: Vec<DistributionBoard>,
    generators: Vec<Generator>,
    neutral_formers: Vec<NeutralFormer>,
    conductors: Vec<ConductorStock>,
}

fn file(s: &Section<'_>) -> Option<Records> {
    let format = s.need_count("format", "version of the file format: 1", 1..=1);
    let currency = s.text("currency", "currency of all prices, such as \"USD\"");
    let records = Records {
        currency,
        units: s.list("unit", "inverter-chargers", unit::unit),
        batteries: s.list("battery", "battery modules or blocks", storage::battery),
        modules: s.list("module", "photovoltaic modules", storage::module),
        controllers: s.list("controller", "charge controllers", storage::controller),
        array_inverters: s.list(
            "array_inverter",
            "inverters between an array and a panel, which follow its voltage",
            array_inverter::array_inverter,
        ),
        transfer_switches: s.list("transfer_switch", "automatic transfer switches", gear::transfer_switch),
        bypasses: s.list("bypass", "maintenance bypass gear", gear::bypass),
        dc_devices: s.list("dc_device", "breakers and fuses of the direct-current side", dc::device),
        dc_busbars: s.list("dc_busbar", "busbars of the direct-current side", dc::busbar),
        breakers: s.list("breaker", "breakers", gear::breaker),
        distributions: s.list(
            "distribution",
            "housings with a bus for the breakers of the units",
            gear::distribution,
        ),
        generators: s.list("generator", "generator sets", gear::generator),
        neutral_formers: s.list("neutral_former", "neutral-forming autotransformers", gear::neutral_former),
        conductors: s.list("conductor", "conductors as they are bought", gear::conductor),
    };
    format.map(|_| records)
}

trait Record {
    fn id(&self) -> &str;
    fn place(&self) -> &Place;
}

macro_rules! records {
    ($($kind:ident),+) => {$(
        impl Record for $kind {
            fn id(&self) -> &str {
                &self.id
            }
            fn place(&self) -> &Place {
                &self.place
            }
        }
    )+};
}

records!(
    UnitModel,
    BatteryModel,
    ArrayModule,
    ChargeController,
    ArrayInverter,
    TransferSwitch,
    BypassGear,
    DcDevice,
    DcBusbar,
    Breaker,
    DistributionBoard,
    Generator,
    NeutralFormer,
    ConductorStock
);

#[derive(Default)]
struct Merge {
    catalog: Catalog,
    ids: BTreeMap<String, Place>,
    currency: Option<Placed<String>>,
    mistakes: Vec<Diagnostic>,
}

impl Merge {
    fn take(&mut self, records: Records) {
        if let Some(currency) = records.currency {
            self.take_currency(currency);
        }
        let Self { catalog, ids, mistakes, .. } = self;
        let mut seen = Seen { ids, mistakes };
        seen.file_in(records.units, &mut catalog.units);
        seen.file_in(records.batteries, &mut catalog.batteries);
        seen.file_in(records.modules, &mut catalog.modules);
        seen.file_in(records.controllers, &mut catalog.controllers);
        seen.file_in(records.array_inverters, &mut catalog.array_inverters);
        seen.file_in(records.transfer_switches, &mut catalog.transfer_switches);
        seen.file_in(records.bypasses, &mut catalog.bypasses);
        seen.file_in(records.dc_devices, &mut catalog.dc_devices);
        seen.file_in(records.dc_busbars, &mut catalog.dc_busbars);
        seen.file_in(records.breakers, &mut catalog.breakers);
        seen.file_in(records.distributions, &mut catalog.distributions);
        seen.file_in(records.generators, &mut catalog.generators);
        seen.file_in(records.neutral_formers, &mut catalog.neutral_formers);
        seen.file_in(records.conductors, &mut catalog.conductors);
    }

    fn take_currency(&mut self, currency: Placed<String>) {
        match &self.currency {
            Some(first) if first.value != currency.value => self.mistakes.push(
                Diagnostic::new(
                    "mixed-currency",
                    format!("prices in {} here, in {} elsewhere", currency.value, first.value),
                )
                .at(&currency.place, "another currency")
                .also(&first.place, "first stated here")
                .help("give all prices in one currency: sums over both would mean nothing"),
            ),
            Some(_) => {}
            None => {
                self.catalog.currency.clone_from(&currency.value);
                self.currency = Some(currency);
            }
        }
    }
}

/// Ids are unique over all kinds, since a derivation names a record by its id alone.
struct Seen<'m> {
    ids: &'m mut BTreeMap<String, Place>,
    mistakes: &'m mut Vec<Diagnostic>,
}

fn repeats_demo<R: Record>(record: &R, first: &Place) -> Diagnostic {
    let message = format!("\"{}\" stands in the built-in demo catalogue already", record.id());
    Diagnostic::new("duplicate-id", message)
        .at(record.place(), "second record with this id")
        .also(first, "the demo record")
        .help("the demo catalogue is always there: leave its records out of your files, or give yours other ids; more repeats in this file are not listed")
}

impl Seen<'_> {
    fn file_in<R: Record>(&mut self, records: Vec<R>, map: &mut BTreeMap<String, R>) {
        for record in records {
            if let Some(first) = self.ids.get(record.id()) {
                if crate::demo::is_of_it(first) && !crate::demo::is_of_it(record.place()) {
                    let again = repeats_demo(&record, first);
                    // a copy of the demo catalogue says it once a file
                    let told = |m: &Diagnostic| {
                        let file = m.place.as_ref().map(|place| &place.file);
                        m.help == again.help && file == Some(&record.place().file)
                    };
                    if !self.mistakes.iter().any(told) {
                        self.mistakes.push(again);
                    }
                    continue;
                }
                let message = format!("\"{}\" stands twice in the catalogue", record.id());
                self.mistakes.push(
                    Diagnostic::new("duplicate-id", message)
                        .at(record.place(), "second record with this id")
                        .also(first, "first record")
                        .help("give one of them another id; no file overrides another"),
                );
                continue;
            }
            self.ids.insert(record.id().to_owned(), record.place().clone());
            map.insert(record.id().to_owned(), record);
        }
    }
}
