//! The functions of spreadsheets by what they do with cells, and what a formula calls that is not understood as a whole.

/// Functions whose value is another each time; ECMA-376 Part 1, 18.17.7 (from memory), as all names below.
pub(super) const CHANGING: &str = "TODAY NOW RAND RANDBETWEEN RANDARRAY CELL INFO";

/// Functions that ask what a cell is, or only where: empty cells and texts are what they are for.
pub(super) const ASKING: &str = "ISBLANK ISNUMBER ISTEXT ISNONTEXT ISERROR ISERR ISNA ISLOGICAL TYPE LEN COUNT COUNTA \
    COUNTBLANK COUNTIF COUNTIFS ROW ROWS COLUMN COLUMNS NA PI TRUE FALSE";

/// Functions that take areas and pass over what is no number.
pub(super) const GATHERING: &str = "SUM MAX MIN AVERAGE PRODUCT MEDIAN SUMSQ SUBTOTAL AGGREGATE STDEV STDEV.S STDEV.P STDEVP VAR \
    VAR.S VAR.P VARP LARGE SMALL GEOMEAN HARMEAN MODE MODE.SNGL PERCENTILE PERCENTILE.INC \
    PERCENTILE.EXC QUARTILE QUARTILE.INC QUARTILE.EXC TRIMMEAN AVERAGEA MAXA MINA SUMPRODUCT";

/// Functions that gather what fulfils a condition: which argument is gathered.
pub(super) const ON_CONDITION: &[(&str, usize)] = &[
    ("SUMIF", 2),
    ("AVERAGEIF", 2),
    ("SUMIFS", 0),
    ("AVERAGEIFS", 0),
    ("MAXIFS", 0),
    ("MINIFS", 0),
];

/// Functions that take one cell out of others.
pub(super) const LOOKING_UP: &str = "INDEX VLOOKUP HLOOKUP XLOOKUP LOOKUP MATCH XMATCH";

/// Functions of their arguments alone, to which a text is a text.
pub(super) const OF_TEXTS: &str = "VALUE NUMBERVALUE N T TEXT LEFT RIGHT MID FIND SEARCH SUBSTITUTE REPLACE TRIM UPPER LOWER \
    PROPER CONCATENATE CONCAT TEXTJOIN EXACT REPT CLEAN FIXED SWITCH DATEVALUE TIMEVALUE \
    ERROR.TYPE HYPERLINK TEXTBEFORE TEXTAFTER LET";

/// Functions of numbers alone.
pub(super) const OF_NUMBERS: &str = "ABS ACOS ACOSH ACOT AND ASIN ASINH ATAN ATAN2 ATANH CEILING CEILING.MATH CEILING.PRECISE \
    ISO.CEILING COMBIN CONVERT CORREL COS COSH COT DATE DAY DAYS DEC2BIN DEGREES DELTA EVEN EXP \
    FACT FLOOR FLOOR.MATH FLOOR.PRECISE FORECAST FORECAST.LINEAR GCD GESTEP HOUR HYPOT IFERROR \
    INT INTERCEPT ISEVEN ISODD LCM LINEST LN LOG LOG10 MINUTE MINVERSE MMULT MOD MONTH MROUND \
    NOT ODD OR POWER QUOTIENT RADIANS ROUND ROUNDDOWN ROUNDUP SECOND SERIESSUM SIGN SIN SINH \
    SLOPE SQRT SQRTPI SUMX2MY2 SUMX2PY2 SUMXMY2 TAN TANH TIME TREND TRUNC XOR YEAR NORM.S.INV \
    NORMSINV T.INV T.INV.2T TINV CONFIDENCE CONFIDENCE.NORM CONFIDENCE.T TRANSPOSE FREQUENCY \
    RANK RANK.EQ UNIQUE SORT FILTER ERF ERFC";

pub(super) fn among(list: &str, name: &str) -> bool {
    list.split(' ').any(|it| it == name)
}

/// Functions that choose, or lead to cells; each is looked at on its own.
pub(super) const BRANCHING: &str = "IF IFS IFERROR IFNA CHOOSE INDIRECT OFFSET";

/// A formula without what stands in quotes.
pub(super) fn without_texts(text: &str) -> String {
    let mut quote = None;
    let mut kept = String::with_capacity(text.len());
    for sign in text.chars() {
        match quote {
            Some(open) if sign == open => quote = None,
            Some(_) => {}
            None if matches!(sign, '"' | '\'') => quote = Some(sign),
            None => kept.push(sign),
        }
    }
    kept
}

/// The functions that a text without quoted parts calls, in capitals.
pub(super) fn called(plain: &str) -> Vec<String> {
    let before = plain.match_indices('(').filter_map(|(at, _)| plain.get(..at));
    let name = |before: &str| {
        let begin = before.rfind(|it: char| !(it.is_alphanumeric() || matches!(it, '.' | '_')));
        let word = before.get(
            begin.map_or(0, |at| {
                at + before.get(at..).and_then(|it| it.chars().next()).map_or(1, char::len_utf8)
            })..,
        )?;
        let word = word.to_ascii_uppercase();
        let word = word.trim_start_matches("_XLFN.").trim_start_matches("_XLWS.");
        (!word.is_empty()).then(|| word.to_owned())
    };
    before.filter_map(name).collect()
}

/// Whether a formula speaks of another workbook: `[1]In!A1`, `'[Other.xlsx]In'!A1`.
pub(super) fn of_other_workbook(text: &str) -> bool {
    let quoted = text.split('\'').skip(1).step_by(2).any(|tab| tab.contains(']'));
    let plain = without_texts(text);
    let bare = plain.split(']').skip(1).any(|after| {
        let end = after.find(|it: char| !(it.is_alphanumeric() || matches!(it, '.' | '_')));
        after.get(end.unwrap_or(after.len())..).is_some_and(|rest| rest.starts_with('!'))
    });
    quoted || bare
}
