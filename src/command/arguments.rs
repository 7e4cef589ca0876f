//! What can be typed.

use clap::{Args, Parser, Subcommand, ValueEnum};

/// Unit-checked calculation sheets for stopping motor-driven machines: how long, how far, which brake, and how far people must be kept away.
#[derive(Debug, Parser)]
#[command(name = "standstill", version, about, disable_help_subcommand = true)]
#[command(
    after_help = "Exit codes: 0 all holds; 1 a check fails; 2 the input is wrong; 3 the sheet is wrong; 4 a file could not be read or written.\n\nThe figures are a calculation, to be checked by a competent person and confirmed by measured stops on the real machine."
)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Command,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// One calculation: results, checks, settings
    Run(Run),
    /// The library of sheets, the kinds, the units, or the names of problems
    List(List),
    /// Inputs, results and sources of one sheet
    Show(Show),
    /// Check sheets without running them: names, units, traps
    Prove(Prove),
    /// Read the inputs from a workbook, run what it asks for, write the results back in place
    Fill(Fill),
    /// A design review: text with sheets in it becomes one page in which every number can be followed and tried
    Review(Review),
}

#[derive(Debug, Args)]
pub(super) struct Run {
    /// A sheet of the library, or a file of your own (`name.sheet`)
    pub(super) sheet: String,
    /// Inputs, such as n_0='1450 r/min' edition=2010 t_k='312 ms, 318 ms'
    #[arg(value_name = "NAME=VALUE")]
    pub(super) inputs: Vec<String>,
    /// Take the sheet's example for every input that is not given
    #[arg(long)]
    pub(super) example: bool,
    /// Show every line as formula, values, result
    #[arg(long)]
    pub(super) steps: bool,
    /// For programs
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct List {
    /// What to list
    #[arg(value_enum, default_value_t = Listed::Sheets)]
    pub(super) what: Listed,
    /// For programs
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Listed {
    /// The library, grouped by step of the job
    Sheets,
    /// Kinds of quantity with their units
    Kinds,
    /// Every unit with its exact definition
    Units,
    /// Names of problems and what they check
    Problems,
}

#[derive(Debug, Args)]
pub(super) struct Show {
    /// A sheet of the library, or a file of your own
    pub(super) sheet: String,
    /// Print the text of the sheet itself
    #[arg(long)]
    pub(super) text: bool,
    /// For programs
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct Prove {
    /// Sheet files, or names of the library; none: the whole library
    pub(super) sheets: Vec<String>,
    /// How problems are printed
    #[arg(long, value_enum, default_value_t = Form::Long)]
    pub(super) form: Form,
    /// Treat cautions as problems
    #[arg(long)]
    pub(super) strict: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Form {
    /// With the text underlined
    Long,
    /// One line a problem, for editors
    Line,
    /// One JSON object a problem
    Json,
}

#[derive(Debug, Args)]
pub(super) struct Fill {
    /// The workbook
    pub(super) book: String,
    /// Write to another file and leave the workbook as it is
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: Option<String>,
    /// A bind file, for a workbook whose layout cannot be touched
    #[arg(long, value_name = "FILE")]
    pub(super) bind: Option<String>,
    /// Print what would be written, write nothing
    #[arg(long)]
    pub(super) dry_run: bool,
    /// For programs
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct Review {
    /// The document: CommonMark with fenced blocks of the kind `sheet`
    #[arg(value_name = "DOC.md")]
    pub(super) document: String,
    /// Where the review goes; else beside the document
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: Option<String>,
    /// What is made
    #[arg(long, value_enum, default_value_t = To::Html)]
    pub(super) to: To,
    /// Write nothing; fail when the review that is kept no longer says what its inputs say
    #[arg(long)]
    pub(super) check: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum To {
    /// One self-contained page
    Html,
    /// Markdown, for a repository's own review
    Md,
}
