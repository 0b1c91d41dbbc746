//! Every kind of finding, with what `explain` says of it.

/// A kind of finding.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    /// Stable id in words.
    pub id: &'static str,
    /// One line.
    pub title: &'static str,
    /// Why it matters and how it is found.
    pub why: &'static str,
    /// What usually mends it.
    pub remedies: &'static str,
}

/// The kind with an id.
pub fn kind(id: &str) -> Option<&'static Kind> {
    kinds().iter().find(|k| k.id == id)
}

/// All kinds, by id.
pub fn kinds() -> &'static [Kind] {
    KINDS
}

const KINDS: &[Kind] = &[
    Kind {
        id: "balance-not-proven",
        title: "Loads may be spread over the legs a little better",
        why: "Loads without a stated leg are placed by a search with a limit of effort. It stopped before it could show that no other placement has a smaller worst leg; the gap to the best possible is stated.",
        remedies: "State the legs of the larger loads, or take the placement as it is.",
    },
    Kind {
        id: "coincidence-bounded",
        title: "Demand is an upper bound, not the exact worst case",
        why: "Loads exclude one another in so many ways that not every permitted subset was looked at. Of each group that excludes itself the largest counts, which is never below the truth.",
        remedies: "State never_with only where it matters.",
    },
    Kind {
        id: "lifeline-load",
        title: "A load that law or code makes someone's lifeline",
        why: "Emergency, legally required standby, essential health care and critical operations systems have their own rules of source, transfer, separation and testing. This tool designs optional standby and stand-alone systems and refuses them.",
        remedies: "Have the load supplied by a system designed and listed for its class, and leave it out of this site.",
    },
    Kind {
        id: "load-not-placed",
        title: "A load could not be connected",
        why: "It asks for legs that the service does not have, or for a panel that the site does not have. It is in none of the figures.",
        remedies: "Correct its legs or its panel.",
    },
    Kind {
        id: "locked-rotor-assumed",
        title: "A motor's starting current is assumed",
        why: "Neither a locked-rotor current nor a usable code letter or table gives it; eight times the running power is taken, the upper end of common practice.",
        remedies: "State locked_rotor_current or code_letter from the nameplate.",
    },
    Kind {
        id: "locked-rotor-open-ended",
        title: "A motor's code letter has no upper end",
        why: "Code letter V begins at 22.4 kVA per hp and ends nowhere: the start may take more than is reckoned with.",
        remedies: "State locked_rotor_current from the nameplate.",
    },
    Kind {
        id: "measured-legs-unknown",
        title: "Measured demand without its legs",
        why: "Only the total was recorded. The worst leg decides, and all of it might be on one.",
        remedies: "Record each leg.",
    },
    Kind {
        id: "measured-no-starts",
        title: "Interval data cannot show motor starts",
        why: "Means over minutes hide the seconds of a start. Only motors that are listed as loads are started on top of the measured demand.",
        remedies: "List the motors inside the measured demand as loads with in_measured = true.",
    },
    Kind {
        id: "series-above-size",
        title: "A measured series is above the stated size of its load",
        why: "The load draws more than the site file says; its size enters every limit.",
        remedies: "State the size that was measured.",
    },
    Kind {
        id: "service-not-covered",
        title: "The demand that sizes the service is not covered",
        why: "The chosen method does not apply to this site, or its conditions are not met.",
        remedies: "Choose another method under [demand], or meet the conditions that the finding names.",
    },
    Kind {
        id: "stage-unknown",
        title: "A growth stage that the site does not have",
        why: "The loads of all stages are counted instead.",
        remedies: "Name a stage of the site file.",
    },
];
