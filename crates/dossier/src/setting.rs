//! One setting that the installer enters.

use std::sync::Arc;

use derivation::Node;
use saying::Text;

/// A setting with its reason.
#[derive(Debug, Clone)]
pub struct Setting {
    /// Device it is entered at: `every unit`, `unit 1`, `transfer switch`.
    pub device: Text,
    /// What belongs together: "roles", "battery", "utility", "generator", "transfer", "grid protection".
    pub group: &'static str,
    /// What is set.
    pub name: Text,
    /// As it is entered: "42.0 A for each leg", "follower, address 3".
    pub value: Text,
    /// Why.
    pub why: Text,
    /// How its figure came about; none where it is a role or a choice.
    pub from: Option<Arc<Node>>,
    /// It rests on one source, on memory or on the catalogue of another: confirm before energising.
    pub confirm: Option<Text>,
}
