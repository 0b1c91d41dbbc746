//! The array's column of the year.

use assess::Case;
use finding::Finding;
use reading::Files;

use crate::figures::Figures;
use crate::loads::DAYS;

/// Power behind the controllers at every step, in watts.
///
/// # Errors
/// Weather that cannot be used, an array that the model does not cover.
pub(crate) fn array_w(
    _case: &Case<'_>,
    _files: &dyn Files,
    step_s: f64,
    _seed: u64,
    _figures: &mut Figures,
    notes: &mut Vec<String>,
) -> Result<Vec<f64>, Vec<Finding>> {
    notes.push("no array is counted".to_owned());
    Ok(vec![0.0; DAYS * (86_400.0 / step_s) as usize])
}
