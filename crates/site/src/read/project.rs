//! `[project]`: what the papers say of themselves.

use reading::Section;

use super::label::name;
use crate::{Date, Project};

pub(super) fn project(s: &Section<'_>) -> Option<Project> {
    Some(Project {
        number: name(s, "number", "number of the project"),
        revision: name(s, "revision", "revision of the design, such as \"A\""),
        date: s.designation::<Date>("date", "date of the revision, year first", "2026-11-26"),
        designer: name(s, "designer", "who designed"),
        checker: name(s, "checker", "who checked"),
        customer: name(s, "customer", "for whom"),
    })
}
