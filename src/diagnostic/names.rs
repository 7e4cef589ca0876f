//! Every name of a problem, with what it checks and why it matters; a name once released stays.

/// What the list says of a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The value.
    pub name: Name,
    /// The stable word, such as `unit-mismatch`.
    pub word: &'static str,
    /// What it checks, and why it matters.
    pub about: &'static str,
}

macro_rules! names {
    ($($variant:ident $word:literal $about:literal;)*) => {
        /// The stable name of a problem.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Name {
            $(#[doc = $about] $variant,)*
        }

        /// Every name, in the order of the way through the program.
        pub const ALL: &[Entry] = &[$(Entry { name: Name::$variant, word: $word, about: $about },)*];

        impl Name {
            /// The stable word, such as `unit-mismatch`.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self {
                    $(Self::$variant => $word,)*
                }
            }
        }
    };
}

names! {
    // reading a sheet
    UnreadableLine "unreadable-line" "A line does not read as the block it stands in expects; the rest of the sheet is still checked.";
    BlockOrder "block-order" "The blocks stand in one order: uses, takes, works, holds, gives. A reader always knows where to look.";
    TooDeep "too-deep" "Parentheses or uses are nested deeper than a person can follow.";
    MissingHeader "missing-header" "A sheet begins with `sheet name`, and says a title and a source: a figure without a source convinces nobody.";
    DefinedTwice "defined-twice" "One name stands for two things.";
    TwoStatements "two-statements" "A line says the same thing twice: two defaults, two units, two lower bounds. One of them would be passed over.";
    ChangesNothing "changes-nothing" "A factor of 1, a term of 0, a value beside itself or beside its copy, words that nothing tells apart: what is written changes nothing, so another sign or name was meant.";
    ReservedName "reserved-name" "The name is a word of the language or a built-in constant or function.";
    // names and kinds
    UnknownName "unknown-name" "Nothing is called so in this sheet.";
    UnknownUnit "unknown-unit" "The unit is not in the catalogue.";
    UnknownKind "unknown-kind" "The kind of quantity is not in the list of kinds.";
    UnknownSheet "unknown-sheet" "No sheet, or no group of inputs, of that name is in the library or beside this one.";
    UnknownFunction "unknown-function" "No function or table of that name exists.";
    UnknownWord "unknown-word" "The word is not one of those the input allows.";
    UnknownArgument "unknown-argument" "The used sheet takes no input of that name.";
    MissingArgument "missing-argument" "An input of a used sheet has neither a value nor a default.";
    NotHanded "not-handed" "An input of a used sheet keeps its default although a name here matches it: was it forgotten?";
    WrongGroup "wrong-group" "A group of inputs is handed to what is no such group, or holds something else than inputs.";
    WrongCourse "wrong-course" "The lines of a course do not hand its state on, or a sheet does not give back the state that it takes.";
    WrongCount "wrong-count" "A function is called with too many or too few values.";
    CircularDefinition "circular-definition" "Some definitions wait for each other, so none can be calculated.";
    CircularUse "circular-use" "A sheet uses itself, directly or through others.";
    UndefinedResult "undefined-result" "A result is listed but never defined.";
    UnusedInput "unused-input" "An input is asked for but nothing depends on it.";
    UnusedDefinition "unused-definition" "A line is calculated but nothing depends on it.";
    // units
    UnitMismatch "unit-mismatch" "Two quantities of different kinds are added, compared or put for one another.";
    WrongPowerOfRad "wrong-power-of-rad" "The units agree but for the angle: a rate is not a speed of rotation, a torque is not an energy.";
    TemperaturePoint "temperature-point" "A temperature on the scale is not a difference: 20 °C + 20 °C has no meaning.";
    MissingUnit "missing-unit" "A number of a quantity stands without its unit; a unit is never assumed.";
    FixedExponent "fixed-exponent" "A quantity with a unit can only be raised to a fixed number.";
    NotANumber "not-a-number" "A truth or a word stands where a number is needed, or the other way round.";
    SeriesForNumber "series-for-number" "A series stands where one value is needed, or the other way round.";
    UnreachedCase "unreached-case" "A case is never reached, or no element of a series ever taken: those above it cover it, or its condition never holds.";
    DecidedCheck "decided-check" "The outcome of a check is the same whatever the inputs are: it shows nothing.";
    EmptyRange "empty-range" "No value lies between the bounds of an input.";
    OpenBelow "open-below" "An input of a kind that is never below zero, a time or a mass, has no lower bound, and no check says anything there: a minus would pass.";
    LooksAlike "looks-alike" "Two names look the same and are written with different letters, such as a Latin and a Cyrillic a.";
    ResultUnit "result-unit" "The unit of a result does not fit what was calculated.";
    DefaultOutOfRange "default-out-of-range" "The default or example of an input lies outside the input's own range.";
    TableNotRising "table-not-rising" "The arguments of a table must rise from row to row.";
    TableUnreadable "table-unreadable" "The rows of a table outside the sheet could not be read.";
    // traps of the trade
    NameReadsAsUnit "name-reads-as-unit" "A unit in a formula is written as a name of the sheet is: in `3 s` beside an input `s`, straight after a number, it is the unit. A reader may take it for the product.";
    HiddenConversion "hidden-conversion" "Plain numbers of a product, folded into one, convert units that already convert themselves: 9550, 2π/60, 25.4, 3.6. Where such a number is meant, `meant 9.55 \"why\"` says so.";
    RotationMeetsRate "rotation-meets-rate" "A speed of rotation meets a frequency or a rate: they differ by 2π, or by 60.";
    TorqueMeetsEnergy "torque-meets-energy" "N·m of torque and J of energy look alike and are not the same.";
    EfficiencyAboveOne "efficiency-above-one" "An efficiency above 100 % would create energy.";
    PercentAsNumber "percent-as-number" "A percentage is used as a plain number: 95 instead of 95 %.";
    // inputs
    MissingInput "missing-input" "An input has no value and no default.";
    InputWithoutEffect "input-without-effect" "A value is given on which no result and no check depends in the case that is chosen.";
    UnknownInput "unknown-input" "The sheet takes no input of that name.";
    UnreadableQuantity "unreadable-quantity" "The text does not read as a number with its unit.";
    PlateNotation "plate-notation" "A unit is written as rating plates write it, such as Nm or RPM: it is read where it can mean one thing only, and reported.";
    TextForNumber "text-for-number" "A cell holds a text where a number is needed.";
    EmptyCell "empty-cell" "A cell is empty where a value is needed; empty is not zero.";
    ErrorCell "error-cell" "A cell holds an error such as #DIV/0!.";
    DateForNumber "date-for-number" "A cell holds a date or a clock time where a number is needed.";
    TruthForNumber "truth-for-number" "A cell holds TRUE or FALSE where a number is needed.";
    NumberForWord "number-for-word" "A cell holds a number where one of a list of words is needed.";
    OutOfRange "out-of-range" "A value lies outside the range for which the sheet holds.";
    NotWhole "not-whole" "A count is not a whole number.";
    TooFewValues "too-few-values" "A series holds fewer values than the sheet needs.";
    // running
    DividedByZero "divided-by-zero" "A quotient has zero below the line.";
    OutsideFunction "outside-function" "A function has no value there, such as the square root of a negative number.";
    OutsideTable "outside-table" "A table is read outside its rows; it is never extended by a guess.";
    NoRoot "no-root" "The function does not change its sign between the two bounds.";
    SeveralRoots "several-roots" "The function is zero, or may be, at more than one place between the two bounds.";
    NotContinuous "not-continuous" "The function jumps, or has a pole, where a root is sought.";
    NotConverged "not-converged" "A root or an integral did not reach its stated tolerance, or cannot be confirmed between the points that were tried.";
    NoCase "no-case" "None of the cases applies and there is no `otherwise`.";
    TooLarge "too-large" "A number grew or shrank beyond what can be kept without losing digits.";
    LengthsDiffer "lengths-differ" "Two series of different lengths meet.";
    BadStep "bad-step" "A rounding step is zero or negative.";
    CheckFails "check-fails" "A line of `holds` is not true for these values.";
    Never "never" "A value that never exists, in the words of the sheet's author: a machine that does not stand has no stop time. What is calculated from it does not exist either, and a check on it fails.";
    // workbooks and files
    UnreadableFile "unreadable-file" "The file cannot be read, or is not what its ending says.";
    HostileFile "hostile-file" "The file asks for more memory or time than any honest workbook does.";
    UnwritableFile "unwritable-file" "The file cannot be written.";
    FileInUse "file-in-use" "Another program has the file open; writing would lose its work or ours.";
    NothingAsked "nothing-asked" "No defined name, no labelled block and no bind file says which sheet to run.";
    MissingTab "missing-tab" "A name or a bind file points to a tab that the workbook does not have.";
    BrokenReference "broken-reference" "A defined name or a bind line does not point to a cell.";
    AskedTwice "asked-twice" "The same input or result is bound to two cells.";
    WrittenAndRead "written-and-read" "A result would overwrite a cell that is read as an input, a unit or a name.";
    OwnersWords "owners-words" "A result would overwrite words of the owner of the workbook.";
    UnknownRow "unknown-row" "A row of a block is neither an input nor a result of its sheet.";
    MergedCell "merged-cell" "The cell to be written lies inside a merged area and is not its first.";
    FormulaInTheWay "formula-in-the-way" "The cell to be written holds a formula; overwriting it would take somebody's work away.";
    ProtectedTab "protected-tab" "The tab is protected and the cell to be written is locked.";
    HiddenCells "hidden-cells" "Inputs come from hidden rows or columns, or results go to them; it is done and said, since nobody sees it.";
    HiddenTab "hidden-tab" "Inputs come from a hidden tab, or results go to one; it is done and said, since nobody sees it.";
    SignedWorkbook "signed-workbook" "The workbook carries a digital signature that a change would break.";
    TableHeader "table-header" "The cell to be written heads or sums up a table; its text must stay what the table's own list says.";
    TextTooLong "text-too-long" "A cell holds no more than 32 767 characters.";
    StaleFigures "stale-figures" "Something in the workbook shows figures calculated before the change until its program renews it.";
    ValuesOnly "values-only" "A fresh workbook is made from one that cannot be filled in place; it holds values, not formulas and styles.";
    NoHeaderRow "no-header-row" "No row of the table is recognised as the one with the names of inputs and results.";
    SeveralTables "several-tables" "More than one table of variants is found, and nothing says which one is meant.";
    ProtocolMismatch "protocol-mismatch" "An earlier protocol is of another machine or sheet, or is not earlier.";
    CasesFile "cases-file" "A file of cases beside a sheet cannot be read: a case that is passed over proves nothing.";
    CaseDiffers "case-differs" "A sheet does not give what one of its cases says: the sheet or the case is wrong.";
    BindFile "bind-file" "A line of the bind file does not read.";
    ReviewLine "review-line" "A line of a sheet block in a review document, or a value in its text, does not read.";
    ProtocolOpen "protocol-open" "A workbook holds a protocol of measured stops that is not passed, is not confirmed, or was changed since it was written.";
    StaleReview "stale-review" "A review that is kept beside its document no longer says what its inputs say.";
    RecordingPlan "recording-plan" "What is said of recorded stops is not known, does not read, or is missing.";
    TimeNotRising "time-not-rising" "The time of a recording stands still or runs back.";
    MissingSamples "missing-samples" "A recording has a gap within a stop: what happened in it is not known.";
    TooFewSamples "too-few-samples" "A recording holds too few samples before a stop, or during it, for a figure.";
    NoStopCommand "no-stop-command" "A recording does not show when its stop is commanded: a time cannot count from it.";
    NoStandstill "no-standstill" "A recorded stop does not end in standstill, or the machine moves again.";
    SignalLimit "signal-limit" "The recorder or its channel was at its limit: the signal went further than what was written.";
    UnfitRecording "unfit-recording" "A recorded stop cannot give a figure: the speed before it, its noise, or the channel at standstill.";
    AmbiguousSheet "ambiguous-sheet" "A name stands for two sheets, and nothing says which is meant.";
    SettingsFile "settings-file" "The file standstill.toml cannot be read, or holds a setting that is not known.";
    Internal "internal" "An internal error of Standstill; please report it with the sheet.";
}
