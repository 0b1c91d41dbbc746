//! Flows of a step and their totals.

/// Takes the flows of a step of each lane.
pub(crate) trait Sink {
    fn take(&mut self, l: usize, f: Flows);
}

/// The flows of one design alone, and its sums.
pub(crate) struct Kept {
    pub flows: Flows,
    pub sums: Sums<1>,
}

impl Sink for Kept {
    #[inline(always)]
    fn take(&mut self, l: usize, f: Flows) {
        self.flows = f;
        self.sums.take(l, f);
    }
}

macro_rules! flows {
    ($($field:ident => $total:ident, $doc:literal);+ $(;)?) => {
        /// Flows of one step of one design, in watts (fuel in litres).
        #[derive(Debug, Clone, Copy, Default)]
        pub(crate) struct Flows {
            $(pub $field: f64,)+
            /// Of the arrays on the panel used; no sum is kept of it.
            pub panel: f64,
            pub relay: f64,
            pub over: f64,
        }

        /// Sums of a year.
        #[derive(Debug, Clone, Copy, PartialEq, Default)]
        pub struct Totals {
            $(#[doc = $doc] pub $total: f64,)+
            /// Most power through the transfer relay, in watts.
            pub relay_peak_w: f64,
            /// Steps in which loads took more from the utility than input and relay allow, the converter's
            /// help counted.
            pub over_limit_steps: f64,
        }

        /// Running sums.
        #[derive(Debug, Clone)]
        pub(crate) struct Sums<const N: usize> {
            $($field: [f64; N],)+
            relay: [f64; N],
            over: [f64; N],
        }

        impl<const N: usize> Sums<N> {
            pub fn zero() -> Self {
                Self { $($field: [0.0; N],)+ relay: [0.0; N], over: [0.0; N] }
            }

            /// Totals of a lane; powers times the hours of a step.
            pub fn totals(&self, l: usize, hours: f64) -> Totals {
                let mut out = Totals {
                    $($total: self.$field[l] * hours,)+
                    relay_peak_w: self.relay[l],
                    over_limit_steps: self.over[l],
                };
                out.fuel_l /= hours;
                out
            }
        }

        impl<const N: usize> Sink for Sums<N> {
            #[inline(always)]
            fn take(&mut self, l: usize, f: Flows) {
                $(self.$field[l] += f.$field;)+
                self.over[l] += f.over;
                self.relay[l] = if f.relay > self.relay[l] { f.relay } else { self.relay[l] };
            }
        }
    };
}

flows! {
    array_used => array_used_wh, "Of all arrays, behind their controllers and inverters, used.";
    array_lost => array_lost_wh, "Of all arrays, behind their controllers and inverters, not used.";
    import => import_wh, "From the utility.";
    export => export_wh, "To the utility.";
    generated => generated_wh, "From the generator.";
    served0 => served0_wh, "Loads of tier 0 served.";
    served1 => served1_wh, "Loads of tier 1 served.";
    served2 => served2_wh, "Loads of tier 2 served.";
    converter => converter_loss_wh, "Lost in the converter, idle loss included.";
    battery => battery_loss_wh, "Lost in charging and discharging.";
    faded => self_discharge_wh, "Lost by self-discharge.";
    fuel_l => fuel_l, "Fuel, in litres.";
}

impl Totals {
    /// What came in less what went out, lost or was stored: 0 but for rounding.
    pub fn imbalance_wh(&self, first_wh: f64, last_wh: f64) -> f64 {
        let came = self.array_used_wh + self.import_wh + self.generated_wh;
        let went = self.served_wh() + self.export_wh;
        let lost = self.converter_loss_wh + self.battery_loss_wh + self.self_discharge_wh;
        came - went - lost - (last_wh - first_wh)
    }

    /// Loads served, all tiers.
    pub fn served_wh(&self) -> f64 {
        self.served0_wh + self.served1_wh + self.served2_wh
    }

    /// What came in.
    pub fn throughput_wh(&self) -> f64 {
        self.array_used_wh + self.import_wh + self.generated_wh
    }
}
