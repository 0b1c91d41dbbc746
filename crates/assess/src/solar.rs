//! Strings of arrays, up to the DC bus or to the inputs of array inverters: their devices against what they must carry,
//! bear and break, and their cables as runs that the rules choose.

use catalog::{ArrayModule, ChargeController, DcDevice};
use derivation::{Known, Place, formula};
use finding::{Finding, Margin, Severity};
use plant::full::{Behind, StringsIn};
use quantity::{Current, DcCurrent, DcVoltage, Leg, Length, heating};
use saying::{Text, say};

use crate::runs::{Direct, For, InArray, Run, ambient, fixed};
use crate::{Case, Ledger};

/// A device of a circuit, and what it has to be.
#[derive(Debug, Clone)]
pub struct Guard<'a> {
    /// Least rating.
    pub least: Known<DcCurrent>,
    /// Largest rating, where what it protects bears no more.
    pub most: Option<Known<DcCurrent>>,
    /// Highest voltage that it has to break; none where that is not known.
    pub voltage: Option<Known<DcVoltage>>,
    /// Highest current that it has to break; none where that is not known.
    pub fault: Option<Known<DcCurrent>>,
    /// The device, where one is found.
    pub device: Option<&'a DcDevice>,
}

impl Guard<'_> {
    fn rating(&self) -> Option<Known<DcCurrent>> {
        self.device.map(|d| Known::catalog("I_n", "rating of the device", d.rating, &d.id, "rating"))
    }
}

/// A cable of two poles.
#[derive(Debug, Clone)]
pub struct Cable {
    /// What the book asks it to carry, with the factors of its clause.
    pub wanted: Known<DcCurrent>,
    /// What may flow in it for hours.
    pub carried: Known<DcCurrent>,
    /// What the drop of voltage is reckoned with.
    pub working: Known<DcCurrent>,
    /// Voltage of which the drop is a share.
    pub nominal: Known<DcVoltage>,
    /// Highest voltage between its poles.
    pub highest: Known<DcVoltage>,
    /// Rating of a device of its own, or of one that stands for it where the book lets it go without.
    pub device: Known<DcCurrent>,
    /// That device is there.
    pub guarded: bool,
    /// It is a fuse of which no more is known; that of a string is one for arrays, which opens as a breaker does.
    pub fused: bool,
    /// Length, one way.
    pub length: Known<Length>,
    /// It lies behind or between the modules.
    pub at_modules: bool,
    /// These stand on a roof.
    pub on_roof: bool,
}

/// Cable and device between a charge controller and the bus.
#[derive(Debug, Clone)]
pub struct Output<'a> {
    /// Of the controllers.
    pub controller: &'a ChargeController,
    /// The device at the bus.
    pub guard: Guard<'a>,
    /// The cable.
    pub cable: Cable,
}

/// Strings of one array, as decided.
#[derive(Debug, Clone)]
pub struct Strings<'a> {
    /// What its parts begin with.
    pub id: String,
    /// Of the modules.
    pub module: &'a ArrayModule,
    /// Controllers or array inverters.
    pub devices: u32,
    /// Strings in parallel at each, or at the fullest: what holds there holds where there are fewer.
    pub strings: u32,
    /// How many of the devices, the last ones, have one string less.
    pub short: u32,
    /// Modules in series.
    pub per_string: u32,
    /// Device of every string, where they need one.
    pub guard: Option<Guard<'a>>,
    /// Cable of a string.
    pub string: Cable,
    /// Cable behind the combiner, of several strings.
    pub array: Cable,
    /// Disconnect of all strings of a device.
    pub disconnect: Guard<'a>,
    /// Highest array current of a controller or inverter, where published.
    pub takes: Option<Known<DcCurrent>>,
    /// Between controllers and bus; none for array inverters.
    pub output: Option<Output<'a>>,
    /// Where the site speaks of it.
    pub place: Place,
}

impl Strings<'_> {
    /// All strings.
    pub fn all(&self) -> u32 {
        self.devices.saturating_mul(self.strings).saturating_sub(self.short)
    }

    /// Devices with a combiner and a cable behind it.
    pub fn joined(&self) -> u32 {
        match self.strings {
            0 | 1 => 0,
            2 => self.devices.saturating_sub(self.short),
            _ => self.devices,
        }
    }

    /// Role of its controllers or inverters.
    pub fn role(&self) -> String {
        format!("{}.{}", self.id, if self.output.is_some() { "controller" } else { "inverter" })
    }

    /// The device of a role of its parts, where one is found.
    pub fn device(&self, role: &str) -> Option<&DcDevice> {
        let guard = match role.strip_prefix(&self.role())? {
            ".string.device" => self.guard.as_ref()?,
            ".disconnect" => &self.disconnect,
            ".output.device" => &self.output.as_ref()?.guard,
            _ => return None,
        };
        guard.device
    }

    /// As parts of the full plant.
    pub(crate) fn in_plant(&self) -> StringsIn {
        StringsIn {
            id: self.id.clone(),
            devices: self.devices,
            strings: self.strings,
            short: self.short,
            guarded: self.guard.is_some(),
            string_device: self.guard.as_ref().and_then(Guard::rating),
            string_carries: self.string.wanted.clone(),
            disconnect: self.disconnect.rating(),
            array_carries: self.array.wanted.clone(),
            takes: self.takes.clone(),
            run: self.string.length.clone(),
            behind: self.output.as_ref().map_or(Behind::Inverter, |output| Behind::Controller {
                device: output.guard.rating(),
                carries: output.cable.wanted.clone(),
            }),
        }
    }
}

/// Holds the devices of all strings.
pub(crate) fn hold(case: &Case<'_>, ledger: &mut Ledger) {
    for strings in &case.strings {
        let role = strings.role();
        if let Some(guard) = &strings.guard {
            one(case, strings, (&format!("{role}.string.device"), "device of a string"), guard, ledger);
        }
        one(case, strings, (&format!("{role}.disconnect"), "array disconnect"), &strings.disconnect, ledger);
        if let Some(output) = &strings.output {
            let names = (&*format!("{role}.output.device"), "device between controller and DC bus");
            one(case, strings, names, &output.guard, ledger);
        }
    }
}

fn one(
    case: &Case<'_>,
    strings: &Strings<'_>,
    (part, of): (&str, &str),
    guard: &Guard<'_>,
    ledger: &mut Ledger,
) {
    let (Some(voltage), Some(fault)) = (&guard.voltage, &guard.fault) else {
        if case.bank.is_none() {
            return; // that no bank is decided is said where the bank is, and fails there
        }
        let message =
            say!("{of}: no bank is decided that says which voltage and current it has to break", of);
        return ledger.find(
            Finding::new("dc-gear-missing", Severity::NotCovered, part, message)
                .at(Some(&strings.place), say!("this array"))
                .fix(say!("a [battery] whose figures are all stated")),
        );
    };
    let Some(device) = guard.device else {
        let most =
            guard.most.as_ref().map_or_else(Text::default, |most| say!(" to {most}", most = most.value()));
        let message = say!(
            "{of}: none in the catalogue is rated {least}{most}, for {voltage}, and breaks {fault}",
            of,
            least = guard.least.value(),
            most,
            voltage = voltage.value(),
            fault = fault.value()
        );
        return ledger.find(
            Finding::new("dc-gear-missing", Severity::NotCovered, part, message)
                .at(Some(&strings.place), say!("this array"))
                .fix(say!("add one to a catalogue of your own")),
        );
    };
    let found = |id: &'static str, m: &Margin, fix: Text| {
        let message = say!(
            "{of}: {what}: {value} against {limit}",
            of,
            what = m.what,
            value = m.value.amount.text,
            limit = m.limit.amount.text
        );
        Finding::new(id, Severity::Error, part, message).at(Some(&strings.place), say!("this array")).fix(fix)
    };
    let I_n = Known::catalog("I_n", "rating of the device", device.rating, &device.id, "rating");
    let margin = Margin::below(part, say!("least rating of the device"), "brightest sun", &guard.least, &I_n);
    ledger.hold(margin, |m| found("dc-device-small", m, say!("a larger device")));
    if let Some(most) = &guard.most {
        let margin = Margin::below(part, say!("rating that the modules bear"), "brightest sun", &I_n, most);
        ledger.hold(margin, |m| found("array-unprotected", m, say!("a smaller device, or fewer strings")));
    }
    let V_n = Known::catalog("V_n", "highest voltage that it breaks", device.voltage, &device.id, "voltage");
    let margin = Margin::below(part, say!("voltage to be broken"), "any", voltage, &V_n);
    ledger.hold(margin, |m| found("dc-device-voltage", m, say!("a device for a higher direct voltage")));
    let I_cn = Known::catalog(
        "I_cn",
        "highest current that it breaks",
        device.interrupting,
        &device.id,
        "interrupting",
    );
    let margin = Margin::below(part, say!("fault current"), "bolted fault", fault, &I_cn);
    ledger.hold(margin, |m| found("dc-device-breaks-less", m, say!("a device that breaks more")));
}

/// The cables of all strings, as runs.
pub(crate) fn runs(case: &Case<'_>) -> Vec<Run> {
    let mut all = Vec::new();
    for strings in &case.strings {
        let (role, count) = (strings.role(), strings.devices as usize);
        let of = |what: &str| format!("{what} of {}", strings.id);
        let number = strings.all() as usize;
        all.push(run(
            case,
            (format!("{role}.string.conductor"), of("string cable"), number),
            &strings.string,
        ));
        if strings.joined() > 0 {
            let joined = strings.joined() as usize;
            let names = (format!("{role}.conductor"), of("cable behind the combiner"), joined);
            all.push(run(case, names, &strings.array));
        }
        if let Some(output) = &strings.output {
            let names = (format!("{role}.output.conductor"), of("output cable"), count);
            all.push(run(case, names, &output.cable));
        }
    }
    all
}

fn run(case: &Case<'_>, (role, name, count): (String, String, usize), cable: &Cable) -> Run {
    let wish = case.site.conductors.iter().find(|c| c.part.value == role);
    let length = wish.and_then(|c| c.length.as_ref()).map(|l| l.known("l", "length of the run"));
    Run {
        name,
        count,
        // two poles, counted as two lines
        legs: vec![Leg::L1, Leg::L2],
        neutral: false,
        lines: true,
        device: as_heat(&cable.device),
        made_for: as_heat(&cable.device),
        wanted: For::Counted(as_heat(&cable.wanted)),
        carried: as_heat(&cable.carried),
        neutral_current: None,
        of_one: None,
        start_of_one: None,
        harmonic: false,
        fixed: fixed(case, &role),
        length: length.unwrap_or_else(|| cable.length.clone()),
        ambient: ambient(case, &role),
        direct: Some(Direct {
            nominal: cable.nominal.clone(),
            carried: cable.working.clone(),
            fused: cable.fused,
            array: Some(InArray {
                guarded: cable.guarded,
                at_modules: cable.at_modules,
                on_roof: cable.on_roof,
                highest: cable.highest.clone(),
            }),
        }),
        role,
    }
}

fn as_heat(I: &Known<DcCurrent>) -> Known<Current> {
    let symbol = I.node().symbol.clone();
    formula!(&symbol, I.node().what.clone(), [I] => heating(I))
}
