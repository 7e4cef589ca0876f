//! References to the columns of a table: `Line[Speed]`, `[@Speed]`, `Line[[#This Row],[Speed]:[Load]]`.
//!
//! Their form is that of ISO/IEC 29500-1, 18.17.2.3 (structure references, from memory).

/// Which rows of a table are meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum TableRows {
    /// Those of the data.
    Data,
    /// The one in which the formula stands.
    This,
    /// Those that hold its headings.
    Heads,
    /// Those that hold its totals.
    Totals,
    /// All of them, or several kinds.
    All,
}

/// What stands between the outer brackets.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Selection {
    pub(crate) rows: TableRows,
    /// The first and the last column; none for all of them.
    pub(crate) columns: Option<(String, String)>,
}

/// A formula with cells in the place of its references to tables; `cells` says which, and what it does not know stays.
pub(crate) fn with_cells(
    text: &str,
    cells: &dyn Fn(Option<&str>, &Selection) -> Option<String>,
) -> String {
    let mut found = String::with_capacity(text.len());
    let mut quote = None;
    let mut rest = text;
    while let Some(sign) = rest.chars().next() {
        let after = rest.get(sign.len_utf8()..).unwrap_or_default();
        let reference = || {
            let (inside, behind) = after.split_at_checked(closing(after)?)?;
            let behind = behind.get(1..)?;
            let begin = found.rfind(|it| !super::is_word(it)).map_or(0, |at| {
                at + found.get(at..).and_then(|it| it.chars().next()).map_or(1, char::len_utf8)
            });
            let name = found.get(begin..)?;
            let cells = cells((!name.is_empty()).then_some(name), &read(inside)?)?;
            Some((begin, cells, behind))
        };
        match (quote, sign) {
            (Some(open), _) if open == sign => quote = None,
            (Some(_), _) => {}
            (None, '"' | '\'') => quote = Some(sign),
            (None, '[') => {
                if let Some((begin, cells, behind)) = reference() {
                    found.truncate(begin);
                    found.push_str(&cells);
                    rest = behind;
                    continue;
                }
            }
            _ => {}
        }
        found.push(sign);
        rest = after;
    }
    found
}

/// Reads what stands between the outer brackets.
pub(super) fn read(text: &str) -> Option<Selection> {
    let text = text.trim();
    if let Some(rest) = text.strip_prefix('@') {
        let columns = read(rest)?.columns;
        return Some(Selection { rows: TableRows::This, columns });
    }
    if text.is_empty() {
        return Some(Selection { rows: TableRows::Data, columns: None });
    }
    if !text.starts_with('[') {
        return one(text);
    }
    let mut found = Selection { rows: TableRows::Data, columns: None };
    let mut said = false;
    let mut rest = text;
    loop {
        let inside = rest.strip_prefix('[')?;
        let end = closing(inside)?;
        let (item, after) = inside.split_at_checked(end)?;
        let Selection { rows, columns } = one(item.trim())?;
        match columns {
            Some((first, last)) => {
                let begin = found.columns.take().map_or(first, |(first, _)| first);
                found.columns = Some((begin, last));
            }
            None => {
                let other = std::mem::replace(&mut said, true) && found.rows != rows;
                found.rows = if other { TableRows::All } else { rows };
            }
        }
        rest = after.strip_prefix(']')?.trim_start();
        match rest.chars().next() {
            None => return Some(found),
            Some(',' | ':') => rest = rest.get(1..)?.trim_start(),
            Some(_) => return None,
        }
    }
}

/// A word of its own, such as `#This Row`, or the name of a column.
fn one(text: &str) -> Option<Selection> {
    let rows = match text.to_ascii_lowercase().as_str() {
        "#data" => TableRows::Data,
        "#this row" => TableRows::This,
        "#headers" => TableRows::Heads,
        "#totals" => TableRows::Totals,
        "#all" => TableRows::All,
        word if word.starts_with('#') => return None,
        _ => {
            let name = unescaped(text);
            let columns = Some((name.clone(), name));
            return Some(Selection { rows: TableRows::Data, columns });
        }
    };
    Some(Selection { rows, columns: None })
}

/// Where the bracket closes that is open; a sign after `'` is only a sign.
pub(super) fn closing(text: &str) -> Option<usize> {
    let (mut depth, mut escaped) = (0_u32, false);
    for (at, sign) in text.char_indices() {
        match sign {
            _ if escaped => escaped = false,
            '\'' => escaped = true,
            '[' => depth += 1,
            ']' if depth == 0 => return Some(at),
            ']' => depth -= 1,
            _ => {}
        }
    }
    None
}

fn unescaped(text: &str) -> String {
    let mut escaped = false;
    text.chars()
        .filter(|sign| {
            escaped = *sign == '\'' && !escaped;
            !escaped
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_stand_in_the_place_of_references_to_tables() {
        let cells = |name: Option<&str>, selection: &Selection| {
            let (first, _) = selection.columns.as_ref()?;
            (first != "1").then(|| format!("<{}.{first}>", name.unwrap_or("here")))
        };
        for (text, wanted) in [
            ("2*Loads[[#This Row],[Load]]+1", "2*<Loads.Load>+1"),
            ("SUM(A.b[x]:[@y])", "SUM(<A.b.x>:<here.y>)"),
            ("Größe[Länge]", "<Größe.Länge>"),
            ("[1]In!A1+\"a[b]\"&'[x]In'!A1", "[1]In!A1+\"a[b]\"&'[x]In'!A1"),
            ("A[x", "A[x"),
            ("Loads[#All]", "Loads[#All]"),
        ] {
            assert_eq!(with_cells(text, &cells), wanted, "{text}");
        }
    }
}
