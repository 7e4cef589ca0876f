//! The small words of the grammar: relations, directions of rounding, series of preferred numbers, tables.

use std::cmp::Ordering;

/// How two values are compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Relation {
    /// `<`
    Below,
    /// `<=`
    AtMost,
    /// `>`
    Above,
    /// `>=`
    AtLeast,
    /// `=`
    Equal,
    /// `<>`
    Unequal,
}

impl Relation {
    /// Whether it holds between two values that stand so to one another.
    ///
    /// # Example
    /// ```
    /// use standstill::language::Relation;
    /// assert!(Relation::AtMost.holds(2.cmp(&2)));
    /// assert!(!Relation::Below.holds(2.cmp(&2)));
    /// ```
    #[must_use]
    pub fn holds(self, order: Ordering) -> bool {
        match self {
            Self::Below => order.is_lt(),
            Self::AtMost => order.is_le(),
            Self::Above => order.is_gt(),
            Self::AtLeast => order.is_ge(),
            Self::Equal => order.is_eq(),
            Self::Unequal => order.is_ne(),
        }
    }

    /// The relation seen from the other side.
    pub(crate) fn turned(self) -> Self {
        match self {
            Self::Below => Self::Above,
            Self::AtMost => Self::AtLeast,
            Self::Above => Self::Below,
            Self::AtLeast => Self::AtMost,
            Self::Equal | Self::Unequal => self,
        }
    }

    /// The sign as a sheet writes it.
    #[must_use]
    pub fn sign(self) -> &'static str {
        match self {
            Self::Below => "<",
            Self::AtMost => "<=",
            Self::Above => ">",
            Self::AtLeast => ">=",
            Self::Equal => "=",
            Self::Unequal => "<>",
        }
    }
}

/// Which way a value is rounded, or a preferred number looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Direction {
    /// To the multiple at or above; `next above`: the smallest preferred number not below.
    Up,
    /// To the multiple at or below; `next below`: the largest preferred number not above.
    Down,
    /// To the nearest multiple, half away from zero; for preferred numbers the nearest by ratio.
    Nearest,
}

macro_rules! preferred {
    ($($name:ident $source:literal)*) => {
        /// A series of preferred numbers.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Preferred {
            $(#[doc = $source] $name,)*
        }

        impl Preferred {
            /// All of them.
            pub const ALL: &[Self] = &[$(Self::$name),*];
            pub(super) const EXPECTED: &str = concat!("a series of preferred numbers:", $(" ", stringify!($name)),*);

            /// The name as a sheet writes it.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$name => stringify!($name),)*
                }
            }
        }
    };
}

preferred! {
    E3 "IEC 60063." E6 "IEC 60063." E12 "IEC 60063." E24 "IEC 60063." E48 "IEC 60063." E96 "IEC 60063."
    R5 "ISO 3." R10 "ISO 3." R20 "ISO 3." R40 "ISO 3."
}

/// How a table is read between its rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Between {
    /// A straight line joins neighbouring rows.
    Straight,
    /// A row holds from its own argument up to the next one's, which belongs to the next row.
    /// The last row holds at its own argument alone.
    StepFrom,
    /// A row holds for arguments above the one before, up to and including its own.
    /// The first row holds for everything at or below its own argument that is not below `lowest`.
    StepUpTo,
}
