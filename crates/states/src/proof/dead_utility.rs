//! P2: while the utility is dead, nothing energises it in any settled state.
//!
//! A unit forms only while all relays of the group are open; until then it follows, and follows nothing once the
//! utility is gone. So the moment between the loss of the utility and the opening of the last relay feeds nothing
//! back. Likewise an array inverter gives only where another source holds a voltage.

use plant::SourceKind;

use super::{Context, Flaw};

pub(super) fn flaws(context: &Context<'_, '_>) -> Vec<Flaw> {
    let model = context.model;
    let Some(utility) = model.plant.supply(SourceKind::Utility) else { return Vec::new() };
    let dead = model.space.present(SourceKind::Utility).not();
    let from = |kind, part: &str, what: &str| {
        let fix = "gear that parts the utility before another source can reach it";
        Flaw::new(dead.and(&model.live(kind, utility)), part, what, fix)
    };
    let mut flaws = vec![
        from(SourceKind::Group, "group", "the group energises the dead utility"),
        from(SourceKind::Generator, "generator", "the generator energises the dead utility"),
    ];
    // alone an array inverter has nothing to follow: it takes another source to keep it going on the dead utility
    for (k, follower) in model.plant.followers.iter().enumerate() {
        let fed = model.fed_by(k).get(utility.0).cloned().unwrap_or_else(|| model.space.no());
        let fix = "gear that parts the utility before another source can reach it";
        let what = format!("{} feeds into the dead utility", follower.id);
        flaws.push(Flaw::new(dead.and(&fed), &follower.id, what, fix));
    }
    flaws
}
