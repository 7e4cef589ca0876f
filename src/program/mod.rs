//! Tree to flat program.

mod flat;

pub use flat::{
    Between, Binary, Block, BlockId, Check, Direction, Fold, Guard, Input, InputId, Limit, Line,
    LineId, Op, Output, Preferred, Program, Ratio, Register, Relation, Says, Scope, Step, Table,
    TableId, Type, Unary,
};
