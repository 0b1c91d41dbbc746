//! Commands and flags: one definition feeds parser, help, completions and man pages.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

/// The cautions that every help text ends with.
pub(crate) const CAUTION: &str = "\
Results are a design aid. Battery and service equipment can kill and burn: work is done de-energised under lockout by
qualified, licensed people. The adopted local code, the utility's rules and the equipment maker's instructions
prevail; a licensed professional checks and signs where the law asks for it.

Exit status: 0 nothing fails, 1 findings of severity error or not covered, 2 the input could not be read or used,
130 stopped by Ctrl-C (files are then whole or not there at all).";

/// Designs battery-backed solar power from several paralleled inverter-chargers.
#[derive(Debug, Parser)]
#[command(name = "wattwright", version, after_help = CAUTION)]
pub(crate) struct Cli {
    #[command(subcommand)]
    pub command: Command,
    /// Print JSON.
    #[arg(long, global = true)]
    pub json: bool,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Design what a site file leaves open, check what it fixes: verdict, findings, tightest margins.
    #[command(after_help = CAUTION)]
    Check(Check),
    /// What each size of the group buys, where the arrangement must change, what each growth stage asks for.
    #[command(after_help = CAUTION)]
    Grow(Grow),
    /// Prove that no position of the gear can hurt, or print the shortest sequence of moves that does.
    #[command(after_help = CAUTION)]
    Prove(Prove),
    /// What flows in every state that the gear can reach, and the margin ledger, tightest first.
    #[command(after_help = CAUTION)]
    States(States),
    /// Write the papers of a design into a new folder: report, installer's booklet, schedules, drawings, design.json.
    #[command(after_help = CAUTION)]
    Package(Package),
    /// How long an outage is carried that starts at any hour of the year, by shedding.
    #[command(after_help = CAUTION)]
    Outages(Outages),
    /// A year month by month: loads, array, bought, sold, losses, costs.
    #[command(after_help = CAUTION)]
    Year(Year),
    /// Write the drawings: single line, every operating state, one unit in three lines, DC side, grounding, wall, links.
    #[command(after_help = CAUTION)]
    Draw(Draw),
    /// One calculation, as a pocket calculator: `calc --list`, then `calc ID key=value ...`.
    #[command(after_help = CAUTION)]
    Calc(Calc),
    /// Write a commented starter site file.
    #[command(after_help = CAUTION)]
    New(New),
    /// Print the JSON Schema of site files or catalogues, for editors, or of design.json, for programs.
    #[command(after_help = CAUTION)]
    Schema(Schema),
    /// Say what a kind of finding means and what usually mends it.
    #[command(after_help = CAUTION)]
    Explain(Explain),
    /// Print completions for a shell.
    Completions(Completions),
    /// Write man pages into a folder.
    Man(Man),
}

/// A site and the equipment that it may use.
#[derive(Debug, Args)]
pub(crate) struct SiteArgs {
    /// Site file, or a folder with a `site.toml` in it.
    pub site: PathBuf,
    /// Folder with catalogue files of your own (`*.toml`), added to the demo catalogue; may be given several times. A
    /// folder `catalog` beside the site file is always added.
    #[arg(long, value_name = "FOLDER")]
    pub catalog: Vec<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Check {
    #[command(flatten)]
    pub site: SiteArgs,
    /// Growth stage to look at; without it, today.
    #[arg(long, value_name = "STAGE")]
    pub stage: Option<String>,
    /// How many of the tightest margins to print.
    #[arg(long, default_value_t = 8, value_name = "N")]
    pub margins: usize,
    /// Print the hand calculation of each printed margin.
    #[arg(long)]
    pub why: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Grow {
    #[command(flatten)]
    pub site: SiteArgs,
    /// Growth stage to look at; without it, today.
    #[arg(long, value_name = "STAGE")]
    pub stage: Option<String>,
    /// Largest number of units to look at; without it, what the site wishes or the family allows.
    #[arg(long, value_name = "UNITS")]
    pub to: Option<u32>,
}

#[derive(Debug, Args)]
pub(crate) struct Prove {
    #[command(flatten)]
    pub site: SiteArgs,
    /// Growth stage to look at; without it, today.
    #[arg(long, value_name = "STAGE")]
    pub stage: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct States {
    #[command(flatten)]
    pub site: SiteArgs,
    /// Growth stage to look at; without it, today.
    #[arg(long, value_name = "STAGE")]
    pub stage: Option<String>,
    /// Print the whole ledger.
    #[arg(long)]
    pub all: bool,
}

/// How a year is run and where its columns go.
#[derive(Debug, Args)]
pub(crate) struct Run {
    /// Length of a step: 1min to 1h, going into an hour.
    #[arg(long, default_value = "1h", value_name = "STEP", value_parser = step)]
    pub step: f64,
    /// Seed of what is drawn (runs of loads, weather from monthly means); without it, the site's, or 1.
    #[arg(long, value_name = "N")]
    pub seed: Option<u64>,
    /// Write the columns as CSV.
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
    /// Write the columns as Parquet (built with the feature `parquet`).
    #[arg(long, value_name = "FILE")]
    pub parquet: Option<PathBuf>,
    /// Draw the result as SVG.
    #[arg(long, value_name = "FILE.svg")]
    pub plot: Option<PathBuf>,
}

/// Seconds of a step such as `15min`.
fn step(text: &str) -> Result<f64, String> {
    let refuse = || "write 1min, 5min, 15min, 30min or 1h: from 1 min to 1 h, going into an hour".to_owned();
    let (digits, unit) = text.split_at(text.find(|c: char| c.is_alphabetic()).unwrap_or(text.len()));
    let number: u32 = digits.trim().parse().map_err(|_| refuse())?;
    let seconds = match unit.trim() {
        "min" => number.checked_mul(60),
        "h" => number.checked_mul(3600),
        _ => None,
    };
    seconds.filter(|s| (60..=3600).contains(s) && 3600 % s == 0).map(f64::from).ok_or_else(refuse)
}

#[derive(Debug, Args)]
pub(crate) struct Outages {
    #[command(flatten)]
    pub site: SiteArgs,
    /// Growth stage to look at; without it, today.
    #[arg(long, value_name = "STAGE")]
    pub stage: Option<String>,
    #[command(flatten)]
    pub run: Run,
}

#[derive(Debug, Args)]
pub(crate) struct Year {
    #[command(flatten)]
    pub site: SiteArgs,
    /// Growth stage to look at; without it, today.
    #[arg(long, value_name = "STAGE")]
    pub stage: Option<String>,
    #[command(flatten)]
    pub run: Run,
}

#[derive(Debug, Args)]
pub(crate) struct Package {
    #[command(flatten)]
    pub site: SiteArgs,
    /// Growth stage to look at; without it, today.
    #[arg(long, value_name = "STAGE")]
    pub stage: Option<String>,
    /// Folder to write; it must not exist, be empty, or hold an earlier package.
    #[arg(short, long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// Date of the revision, as 2026-11-26; without it, the date in `[project]`.
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub date: Option<site::Date>,
    /// Write a package of a design that does not hold, marked on every page.
    #[arg(long)]
    pub anyway: bool,
}

/// A date, year first.
fn date(text: &str) -> Result<site::Date, String> {
    text.parse().map_err(|e: quantity::QuantityError| format!("{}; {}", e.message, e.help))
}

#[derive(Debug, Args)]
pub(crate) struct Draw {
    #[command(flatten)]
    pub site: SiteArgs,
    /// Growth stage to look at; without it, today.
    #[arg(long, value_name = "STAGE")]
    pub stage: Option<String>,
    /// Folder for the drawings; it must be empty or not there.
    #[arg(short, long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// Formats.
    #[arg(long, value_delimiter = ',', value_enum, default_values_t = [DrawingFormat::Svg, DrawingFormat::Dxf])]
    pub format: Vec<DrawingFormat>,
    /// Revision for the title blocks.
    #[arg(long, default_value = "A", value_name = "REVISION")]
    pub revision: String,
    /// Date for the title blocks; without it none stands there.
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
}

/// A format of drawings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum DrawingFormat {
    /// Scalable vector graphics.
    Svg,
    /// Drawing exchange format of release 12.
    Dxf,
}

#[derive(Debug, Args)]
pub(crate) struct Calc {
    /// Which calculation; see `--list`.
    pub id: Option<String>,
    /// Inputs as `key=value`, in the key's unit or with one (`line_v=400`, `line=400 V`); lists by semicolon or comma
    /// (`leg_a=60;45`); `-` reads a JSON object from standard input. `--list` tells the rest.
    pub inputs: Vec<String>,
    /// List the calculations with their inputs and outputs.
    #[arg(long)]
    pub list: bool,
}

#[derive(Debug, Args)]
pub(crate) struct New {
    /// File to write; it must not exist.
    #[arg(default_value = "site.toml")]
    pub file: PathBuf,
}

#[derive(Debug, Args)]
pub(crate) struct Schema {
    /// What the schema is of: site files, catalogues, or the design.json of a package.
    #[arg(value_parser = ["site", "catalog", "design"], default_value = "site")]
    pub of: String,
}

#[derive(Debug, Args)]
pub(crate) struct Explain {
    /// Id of a finding, as in `error[pass-through-over-relay]`, or of a rule of a code; without it, all of them.
    #[arg(value_name = "FINDING OR RULE")]
    pub id: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Completions {
    /// Shell.
    pub shell: clap_complete::Shell,
}

#[derive(Debug, Args)]
pub(crate) struct Man {
    /// Folder; it must exist.
    pub folder: PathBuf,
}
