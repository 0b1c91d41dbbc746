//! When an investment is paid back.

use derivation::{Known, formula};
use quantity::{Quantity, Ratio};

use crate::EnergyError;
use crate::error::{above_zero, within};

/// What a payback rests on. All of it is stated by the user; none of it is known.
#[derive(Debug, Clone)]
pub struct PaybackFacts {
    /// Parts and work, in money.
    pub investment: Known<Ratio>,
    /// Cost of a year without less that with the design, in money of the first year.
    pub saving: Known<Ratio>,
    /// Discount rate a year.
    pub discount: f64,
    /// Rise of prices a year.
    pub price_rise: f64,
    /// Share of the saving lost a year with age.
    pub fading: f64,
    /// Years looked at.
    pub years: usize,
    /// Parts that are bought again: year (from 1) and money.
    pub renewals: Vec<(usize, f64)>,
}

/// When it is paid back.
#[derive(Debug, Clone)]
pub struct Payback {
    /// Investment over the first year's saving, in years: no interest, no age, no renewals.
    pub simple_years: Known<Ratio>,
    /// The year by whose end the discounted savings have paid for investment and renewals so far, and stay
    /// so; none within the years looked at.
    pub discounted_years: Option<usize>,
    /// Present value of all savings less all spending over the years looked at, in money.
    pub present_value: Known<Ratio>,
}

/// Simple and discounted payback. Savings come at the end of each year: saving (1 + rise)^(k-1) (1 -
/// fading)^(k-1) / (1 + discount)^k (common practice).
///
/// # Errors
/// No investment, a saving that is not above zero (never paid back), rates outside -0.2 to 1, no years or
/// more than 100.
pub fn payback(facts: &PaybackFacts) -> Result<Payback, EnergyError> {
    let invested = above_zero("investment", facts.investment.value().si())?;
    let saving = facts.saving.value().si();
    if !(saving.is_finite() && saving > 0.0) {
        return Err(EnergyError::NotCovered("nothing is saved in a year: the investment is never paid back"));
    }
    let discount = within("discount rate", facts.discount, -0.2, 1.0, "from -0.2 to 1")?;
    let rise = within("rise of prices", facts.price_rise, -0.2, 1.0, "from -0.2 to 1")?;
    let fading = within("fading", facts.fading, 0.0, 1.0, "from 0 to 1")?;
    within("years", facts.years as f64, 1.0, 100.0, "from 1 to 100")?;
    let (mut sum, mut paid) = (-invested, None);
    let (mut worth, mut factor) = (saving, 1.0);
    for year in 1..=facts.years {
        factor /= 1.0 + discount;
        let again: f64 = facts.renewals.iter().filter(|(at, _)| *at == year).map(|(_, money)| money).sum();
        sum += (worth - again) * factor;
        worth *= (1.0 + rise) * (1.0 - fading);
        paid = if sum >= 0.0 { paid.or(Some(year)) } else { None };
    }
    let (I, s) = (&facts.investment, &facts.saving);
    let equation = format!(
        "-I + sum over {} years of (s ((1 + {rise}) (1 - {fading}))^(k-1) - renewals) / (1 + {discount})^k",
        facts.years
    );
    let from = vec![I.node().clone(), s.node().clone()];
    Ok(Payback {
        simple_years: formula!("t", "simple payback in years", [I, s] => I / s),
        discounted_years: paid,
        present_value: Known::solved("NPV", "present value in money", Ratio::of(sum), equation, 0.0, from),
    })
}
