//! Collects margins and findings.

use finding::{Finding, Margin, Severity};
use saying::say;

/// Margins and findings of one plant.
#[derive(Debug, Clone, Default)]
pub struct Ledger {
    /// All margins, in the order of the checks.
    pub margins: Vec<Margin>,
    /// All findings.
    pub findings: Vec<Finding>,
}

impl Ledger {
    /// Records a margin. Where it does not hold, `broken` makes the finding; where there is no number, the finding
    /// is "not covered": a missing number never counts as kept.
    pub fn hold(&mut self, margin: Margin, broken: impl FnOnce(&Margin) -> Finding) {
        match margin.share() {
            None => self.findings.push(
                Finding::new(
                    "no-number",
                    Severity::NotCovered,
                    margin.part.clone(),
                    say!("{what} has no number to hold against its limit", what = margin.what),
                )
                .in_state(margin.state.clone())
                .measured(&margin.value, &margin.limit),
            ),
            Some(_) if margin.holds() => {}
            Some(_) => {
                let (value, limit) = (margin.value.clone(), margin.limit.clone());
                let mut finding = broken(&margin).measured(&value, &limit);
                finding.floor = margin.floor;
                if finding.state.is_none() {
                    finding = finding.in_state(margin.state.clone());
                }
                self.findings.push(finding);
            }
        }
        self.margins.push(margin);
    }

    /// Records a finding.
    pub fn find(&mut self, finding: Finding) {
        self.findings.push(finding);
    }

    /// Margins with the tightest first; those without a number before all.
    pub fn tightest(&self) -> Vec<&Margin> {
        let mut all: Vec<&Margin> = self.margins.iter().collect();
        let key = |m: &Margin| m.share().unwrap_or(f64::NEG_INFINITY);
        all.sort_by(|a, b| {
            key(a)
                .total_cmp(&key(b))
                .then_with(|| (&a.part, &a.what, &a.state).cmp(&(&b.part, &b.what, &b.state)))
        });
        all
    }

    /// Findings of one kind on one part, in the same words but for leg and figures, say the same thing: the one with
    /// the least margin stays and counts the others.
    pub fn gather(&mut self) {
        let mut kept: Vec<(Finding, usize)> = Vec::new();
        for finding in self.findings.drain(..) {
            let same = |f: &Finding| {
                f.id == finding.id
                    && f.part == finding.part
                    && f.place == finding.place
                    && f.severity == finding.severity
            };
            let gathers = finding.margin().is_some();
            match kept.iter_mut().find(|(f, _)| gathers && same(f)) {
                None => kept.push((finding, 0)),
                Some((worst, more)) => {
                    *more += 1;
                    let less = |f: &Finding| f.margin().unwrap_or(0.0);
                    if less(&finding) < less(worst) {
                        *worst = finding;
                    }
                }
            }
        }
        self.findings = kept
            .into_iter()
            .map(|(mut finding, more)| {
                finding.more_like_it = more;
                finding
            })
            .collect();
    }

    /// Whether a finding fails the check.
    pub fn fails(&self) -> bool {
        self.findings.iter().any(|f| f.severity.fails())
    }
}
