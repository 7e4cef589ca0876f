//! How wide a formula is, so that paper can take it: a page cannot be scrolled.

/// Characters that a line of a printed page holds.
const LINE: f64 = 104.0;

/// Characters that a line of one of its two columns holds.
const COLUMN: f64 = 52.0;

/// Characters that it holds at the full size, with what stands beside it.
const EASY: f64 = 47.0;

/// Below this share of its size a formula cannot be read.
const LEAST: f64 = 0.45;

/// An element under way.
#[derive(Default)]
struct Open<'a> {
    element: &'a str,
    /// What stands beside one another in it.
    sum: f64,
    /// The widest of it.
    most: f64,
    /// The columns of a table or a row.
    columns: Vec<f64>,
}

impl Open<'_> {
    fn wide(&self) -> f64 {
        match self.element {
            "mfrac" => self.most,
            "mtable" => self.columns.iter().sum(),
            "msub" | "msup" => self.sum * 0.8,
            "mo" => self.sum.max(1.5),
            "mtd" => self.sum + 1.0,
            _ => self.sum,
        }
    }

    fn take(&mut self, inner: Open) {
        let wide = inner.wide();
        match inner.element {
            "mtd" => self.columns.push(wide),
            "mtr" => {
                for (at, column) in inner.columns.into_iter().enumerate() {
                    match self.columns.get_mut(at) {
                        Some(known) => *known = known.max(column),
                        None => self.columns.push(column),
                    }
                }
            }
            _ => {
                self.sum += wide;
                self.most = self.most.max(wide);
            }
        }
    }
}

/// The share of its size with which a formula fits on paper: one for most.
pub(super) fn fit(formula: &str) -> f64 {
    let width = width(formula);
    let room = if width > COLUMN { LINE } else { EASY };
    (room / width).clamp(LEAST, 1.0)
}

/// Whether a formula asks for more than a column of a printed page.
pub(super) fn is_wide(formula: &str) -> bool {
    width(formula) > COLUMN
}

/// The width in characters: of a fraction that of its wider part, of a table that of its columns, of an index a part, else the sum.
fn width(formula: &str) -> f64 {
    let mut open = vec![Open { element: "math", ..Open::default() }];
    for part in formula.split('<') {
        let (tag, text) = part.split_once('>').unwrap_or(("", part));
        let element = tag.trim_start_matches('/').split([' ', '/']).next().unwrap_or_default();
        if tag.starts_with('/') {
            if open.len() > 1
                && let Some(done) = open.pop()
                && let Some(outer) = open.last_mut()
            {
                outer.take(done);
            }
        } else if !tag.is_empty() && !tag.ends_with('/') {
            open.push(Open { element, ..Open::default() });
        }
        if let Some(inner) = open.last_mut() {
            let mut signs = 0_u16;
            let mut entity = false;
            for sign in text.chars() {
                // `&lt;` is one sign
                match sign {
                    '&' => entity = true,
                    ';' if entity => entity = false,
                    _ if entity => continue,
                    _ => {}
                }
                signs = signs.saturating_add(u16::from(!entity));
            }
            inner.sum += f64::from(signs);
        }
    }
    open.first().map_or(0.0, |math| math.sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    // counted by eye
    #[test]
    fn a_fraction_is_as_wide_as_its_wider_part() {
        let formula = "<mi>t</mi><mo>=</mo><mfrac><mrow><mi>J</mi><mtext>12345678</mtext></mrow><mi>T</mi></mfrac>";
        assert!((width(formula) - 11.5).abs() < 1e-12, "{}", width(formula));
        assert_eq!(fit(formula), 1.0);
        let long = format!("<mtext>{}</mtext>", "x".repeat(208));
        assert!((fit(&long) - 0.5).abs() < 1e-12);
        assert!(is_wide(&long) && !is_wide(formula));
        let rows = "<mtable><mtr><mtd><mi>abcd</mi></mtd><mtd><mi>a</mi></mtd></mtr><mtr><mtd><mi>a</mi></mtd><mtd><mi>ab</mi></mtd></mtr></mtable>";
        assert!((width(rows) - 8.0).abs() < 1e-12, "{}", width(rows));
        assert!((width("<mo>&lt;</mo>") - 1.5).abs() < 1e-12);
    }
}
