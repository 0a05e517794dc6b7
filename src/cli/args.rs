//! The arguments of every verb.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

use crate::fault::{Fault, Kind, Place};
use crate::job::Effort;
use crate::pipeline::MemberKind;

/// From the surveyed deck edge of a wooden workboat to cut sheets for a
/// welded aluminium bulwark: fair lines, flat plates, nests, patterns.
///
/// Exit status: 0 done, 1 the job cannot be made (the reason is on standard
/// error), 2 wrong usage, 3 the line that `check` was asked about is not fair.
#[derive(Debug, Parser)]
#[command(name = "planksheer", version, max_term_width = 100)]
pub(super) struct Cli {
    #[command(subcommand)]
    pub(super) verb: Verb,
}

#[derive(Debug, Subcommand)]
pub(super) enum Verb {
    /// Do the whole job: fair the edge, lay out, flatten, detail, nest, write
    Build(BuildArgs),
    /// Set choices of stock against each other: sheets, yield, mass, welds,
    /// cutting and cost, best first, and how the best answers to gap, height and width
    Estimate(EstimateArgs),
    /// Fair the surveyed edge and say what moves, what is not fair, what of
    /// the survey is doubtful, and how port and starboard differ
    Fair(FairArgs),
    /// Check the line as tacked up, or as welded: is it fair, and the fewest moves
    Check(CheckArgs),
    /// Print parts at full size: true-scale PDF pages for any paper, with marks to
    /// put them together and to check them
    Pattern(PatternArgs),
    /// Write a commented starter job that builds as it is
    Start(StartArgs),
    /// Print a completion script for a shell
    Completions(CompletionArgs),
    /// Print a manual page (roff), or write every page
    Manual(ManualArgs),
}

impl Verb {
    /// True where files were to be written.
    pub(super) fn writes(&self) -> bool {
        match self {
            Self::Build(_) | Self::Pattern(_) | Self::Start(_) | Self::Manual(_) => true,
            Self::Estimate(args) => args.out.is_some(),
            Self::Fair(args) => args.out.is_some(),
            Self::Check(_) | Self::Completions(_) => false,
        }
    }
}

// What becomes of an earlier output. No doc comment: it would become the verb's own.
#[derive(Debug, Args)]
pub(super) struct Earlier {
    /// Move files of yours in an earlier output, and files of it that you
    /// changed, into a folder beside it; they are refused otherwise
    #[arg(long, requires = "out")]
    pub(super) replace: bool,
}

// What the work runs on.
#[derive(Debug, Args)]
pub(super) struct Work {
    /// Threads to use; the result is the same on any number
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    threads: Option<u16>,
}

#[derive(Debug, Args)]
pub(super) struct BuildArgs {
    /// The job file (TOML; see docs/job-file.md)
    pub(super) job: PathBuf,
    /// Folder for everything written; an earlier output there is replaced
    /// in whole, and only when the new one is complete
    #[arg(long, value_name = "DIR")]
    pub(super) out: PathBuf,
    #[command(flatten)]
    pub(super) earlier: Earlier,
    /// Search effort of the nest, over the job's own; an interrupt (Ctrl-C)
    /// ends the search and keeps the best found
    #[arg(long, value_enum, conflicts_with = "quick")]
    pub(super) effort: Option<EffortArg>,
    /// The same as --effort quick
    #[arg(long)]
    pub(super) quick: bool,
    /// Refuse a survey that looks misread as a whole, or with a doubtful figure
    /// that no verdict of the job accepts or replaces
    #[arg(long)]
    pub(super) strict: bool,
    #[command(flatten)]
    pub(super) work: Work,
    /// Print summary.json on standard output instead of a short account
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct EstimateArgs {
    /// The job file (TOML; see docs/job-file.md)
    pub(super) job: PathBuf,
    /// Folder for the tables, the JSON and the page with pictures (see
    /// docs/estimate.md); an earlier output there is replaced in whole
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    #[command(flatten)]
    pub(super) earlier: Earlier,
    /// Search effort of every nest; if not given, the choices are nested at
    /// normal effort and how the best answers to gap, height and width at quick
    #[arg(long, value_enum, conflicts_with = "quick")]
    pub(super) effort: Option<EffortArg>,
    /// The same as --effort quick
    #[arg(long)]
    pub(super) quick: bool,
    /// Leave out how the best choice answers to gap, height and width
    #[arg(long)]
    pub(super) no_variations: bool,
    #[command(flatten)]
    pub(super) work: Work,
    /// Print JSON (see docs/estimate.md) instead of the tables for people
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct CheckArgs {
    /// The job file (TOML; see docs/job-file.md)
    pub(super) job: PathBuf,
    /// Survey of the tacked line, a row a stanchion (see docs/tacked-check.md)
    #[arg(long, value_name = "FILE")]
    pub(super) tacked: PathBuf,
    /// Survey of the welded line: the pull against the tacked one, and whether it is
    /// still fair, which is then what the exit status tells
    #[arg(long, value_name = "FILE")]
    pub(super) welded: Option<PathBuf>,
    /// Print JSON on standard output
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct FairArgs {
    /// The job file (TOML; see docs/job-file.md)
    pub(super) job: PathBuf,
    /// Folder for the pictures (plan and profile with curvature combs, the
    /// line sighted along before and after) and tables; an earlier output
    /// there is replaced in whole
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    #[command(flatten)]
    pub(super) earlier: Earlier,
    /// Print JSON (see docs/fairness.md) instead of the tables for people
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct PatternArgs {
    /// The job file (TOML; see docs/job-file.md)
    pub(super) job: PathBuf,
    /// Folder for the PDF files; an earlier output there is replaced in whole
    #[arg(long, value_name = "DIR")]
    pub(super) out: PathBuf,
    #[command(flatten)]
    pub(super) earlier: Earlier,
    /// A part by its name, such as B4; all but the cap if not given. May be repeated
    #[arg(long, value_name = "NAME")]
    pub(super) part: Vec<String>,
    /// A kind of parts; all but the cap if not given. May be repeated
    #[arg(long, value_enum)]
    pub(super) kind: Vec<KindArg>,
    /// All parts in one file, in place of a file a part
    #[arg(long)]
    pub(super) one_file: bool,
    /// Mirrored, to mark the other face of the plate
    #[arg(long)]
    pub(super) other_face: bool,
    /// Where the covering board is drilled below the base plates, seen from above
    #[arg(long, conflicts_with = "other_face")]
    pub(super) drilling: bool,
    /// Where stanchions and doublers stand, to mark out plates that are cut already,
    /// or the covering board: the plate's edge is a thin line
    #[arg(long, conflicts_with_all = ["other_face", "drilling"])]
    pub(super) footprints: bool,
    /// Parts that fit a page share pages, or the length of a roll
    #[arg(long)]
    pub(super) share: bool,
    /// The ordinates of each strip on a page, for a batten on the plate, in place
    /// of patterns
    #[arg(long, conflicts_with_all = ["other_face", "drilling", "footprints", "share", "one_file"])]
    pub(super) ordinates: bool,
    /// Paper, over the job's own: A4 to A0, Letter, Legal, Tabloid, "ARCH D", a
    /// roll such as "36 in roll", or its width across the feed and its length
    /// such as "300 x 450 mm"
    #[arg(long, value_name = "SIZE")]
    pub(super) paper: Option<String>,
    /// What the printer leaves free along each edge, over the job's own
    #[arg(long, value_name = "LENGTH")]
    pub(super) margin: Option<String>,
    /// What neighbouring pages both show, over the job's own
    #[arg(long, value_name = "LENGTH")]
    pub(super) overlap: Option<String>,
    /// What the bars of the test page measure over what they say, across and
    /// along the feed, such as 1.004,0.998: every page is corrected by it
    #[arg(long, value_name = "ACROSS,ALONG", conflicts_with = "test_page")]
    pub(super) print_scale: Option<String>,
    /// Write the test page alone: bars as long as the paper allows, both ways
    #[arg(long, conflicts_with_all = ["part", "kind", "one_file", "other_face", "drilling", "footprints", "share", "ordinates"])]
    pub(super) test_page: bool,
    #[command(flatten)]
    pub(super) work: Work,
}

/// A kind of parts.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum KindArg {
    /// Plates on the covering board
    Base,
    /// Plates under the cap
    Top,
    /// Doublers on the base plate
    Doubler,
    /// The wood cap's lengths
    Cap,
}

impl From<KindArg> for MemberKind {
    fn from(k: KindArg) -> Self {
        match k {
            KindArg::Base => Self::BasePlate,
            KindArg::Top => Self::TopPlate,
            KindArg::Doubler => Self::Doubler,
            KindArg::Cap => Self::Cap,
        }
    }
}

#[derive(Debug, Args)]
pub(super) struct StartArgs {
    /// Folder to write the starter job into; made if it is not there
    pub(super) dir: PathBuf,
}

#[derive(Debug, Args)]
pub(super) struct CompletionArgs {
    /// The shell
    pub(super) shell: clap_complete::Shell,
}

#[derive(Debug, Args)]
pub(super) struct ManualArgs {
    /// The verb whose page is printed; the command's own if not given
    #[arg(conflicts_with = "out")]
    pub(super) verb: Option<String>,
    /// Write planksheer.1 and a page a verb into this folder instead
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
}

/// The demo, 38 parts, takes 2.2, 13 and 61 s of processor time.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum EffortArg {
    /// A second or two for one nest of a usual job, on two cores
    Quick,
    /// Up to half a minute
    Normal,
    /// A minute or two
    Long,
}

impl From<EffortArg> for Effort {
    fn from(e: EffortArg) -> Self {
        match e {
            EffortArg::Quick => Self::Quick,
            EffortArg::Normal => Self::Normal,
            EffortArg::Long => Self::Long,
        }
    }
}

/// The effort that is asked for.
pub(super) fn asked(effort: Option<EffortArg>, quick: bool) -> Option<Effort> {
    let quick = quick.then_some(Effort::Quick);
    quick.or(effort.map(Effort::from))
}

impl Work {
    /// Threads for it; all that the machine has where none are asked for.
    pub(super) fn pool(&self) -> Result<rayon::ThreadPool, Fault> {
        let threads = self.threads.map_or(0, usize::from);
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.map_err(|e| {
            let what = format!("the threads cannot be started: {e}");
            let mend = "ask for fewer with --threads";
            Fault::new(Kind::Range, Place::file("--threads"), what, mend)
        })
    }
}
