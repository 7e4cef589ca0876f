//! Recorded stops: files → samples → stops → figures with their uncertainty → a protocol.
//!
//! [`Plan`] says what the columns are, how the stop command is seen and what the drive was set to; [`read`]
//! lets a file pass by and keeps its stops alone; [`Protocol`] judges them, holds them against a calculation
//! and issues the distance through the device's own sheet. A measured figure is a float with its expanded
//! uncertainty (k = 2) beside it; what a distance stands on has it added.

mod against_earlier;
mod asked;
mod channel;
mod clock;
mod collect;
mod columns;
mod compared;
mod condition;
mod copies;
mod counter;
mod doubtful;
mod doubts;
mod driven;
mod fading;
mod figures;
mod finding;
mod fit;
mod friction;
mod machines;
mod measure;
mod named_sheets;
mod of_sheet;
mod passing;
mod plan;
mod plan_checks;
mod plan_reader;
mod preamble;
mod predicted;
mod protocol;
mod recheck;
mod seal;
mod series;
mod settings;
mod smear;
mod stop;
mod summary;
mod tables;
mod together;
mod torque_lost;
mod trace;
mod trend;
mod unbraked;
mod unmeasured;
mod unseen;
mod verdict;

pub use condition::{Condition, Mode};
pub use figures::judge;
pub use finding::Finding;
pub use fit::{Fit, least_squares, quantile_of_t};
pub use friction::{Departs, Noise, RunDown, run_down};
pub use machines::counted_twice;
pub use measure::Measured;
pub use named_sheets::Issue;
pub use passing::{FileOfStops, read};
pub use plan::{KEYS, Key, Plan, Recording};
pub use predicted::Predicted;
pub use protocol::Protocol;
pub use recheck::{Earlier, ProtocolVerdict, earlier};
pub use seal::{SEAL, is_sealed, seal, seal_of_json};
pub use series::{Series, fewest};
pub use stop::{Ramp, Recorded, Stop};
pub use tables::tables;
pub use trend::{Course, Trend};
