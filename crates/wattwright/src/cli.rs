//! Commands and flags: one definition feeds parser, help, completions and man pages.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

/// The cautions that every help text ends with.
pub(crate) const CAUTION: &str = "\
Results are a design aid. Battery and service equipment can kill and burn: work is done de-energised under lockout by
qualified, licensed people. The adopted local code, the utility's rules and the equipment maker's instructions
prevail; a licensed professional checks and signs where the law asks for it.

Exit status: 0 nothing fails, 1 findings of severity error or not covered, 2 the input could not be read or used.";

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
    /// Write the drawings: single line, every operating state, one unit in three lines, DC side, grounding, wall, links.
    #[command(after_help = CAUTION)]
    Draw(Draw),
    /// One calculation, as a pocket calculator: `calc --list`, then `calc ID key=value ...`.
    #[command(after_help = CAUTION)]
    Calc(Calc),
    /// Write a commented starter site file.
    #[command(after_help = CAUTION)]
    New(New),
    /// Print the JSON Schema of site files or catalogues, for editors.
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
    /// Inputs as `key=value`; `-` reads a JSON object from standard input.
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
    /// What the schema is of.
    #[arg(value_parser = ["site", "catalog"], default_value = "site")]
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
