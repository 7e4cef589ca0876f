//! Tree to flat program: names, order, kinds and units, checked once.

mod absorb;
mod across;
mod beyond_table;
mod built_in;
mod checked;
mod compile;
mod conversion;
mod courses;
mod customary;
mod decided;
mod extents;
mod flat;
mod groups;
mod hides;
mod in_vain;
mod infer;
mod lint;
mod literal;
mod lookalikes;
mod mismatch;
mod open_below;
mod order;
mod own_checks;
mod resolver;
mod results;
mod rising;
mod scope;
mod signs;
mod suggest;
mod sums;
mod tables;
mod takes;
mod tens;
mod tolerance;
mod tolerated;
mod twins;
mod unit_names;
mod unread;
mod uses;
mod works;

pub use checked::Checked;
pub use compile::compile;
#[cfg(feature = "editor")]
pub(crate) use compile::compile_in_part;
pub(crate) use compile::whole_tree;
pub(crate) use flat::with_path;
pub use flat::{
    Between, Binary, Block, BlockId, Check, CourseStates, Direction, Fold, Guard, Input, InputId,
    Limit, Line, LineId, LineSource, Meant, Op, Output, Preferred, Program, Ratio, Register,
    Relation, Scope, StateValue, Step, Table, TableId, Type, Unary,
};
pub(crate) use lookalikes::looks_like;
pub(crate) use resolver::unknown_group;
pub use resolver::{NoResolver, Resolver, Sheets, unknown_sheet};
pub(crate) use suggest::did_you_mean;
pub use suggest::nearest;
pub use tolerance::{Reach, Tolerance};
pub(crate) use works::{result_unit, result_unit_of_plate, result_unit_or};
