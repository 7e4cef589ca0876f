//! How a workbook of the .xlsx family is laid out: its tabs and their parts, its defined names, and
//! what protects it. Read from `xl/workbook.xml` and the relationships, never guessed by file name.

use std::sync::Arc;

use crate::spreadsheet::model::book::{Book, Form};
use crate::spreadsheet::model::pieces::Pieces;
use std::collections::BTreeMap;

use quick_xml::events::{BytesStart, Event};

use crate::diagnostic::Problems;
use crate::spreadsheet::formula::both;
use crate::spreadsheet::model::book::{Tab, TabKind, Visibility};
use crate::spreadsheet::model::names::{DefinedName, Target};
use crate::spreadsheet::model::position::Area;
use crate::spreadsheet::read::archive::{Archive, relationships_of, resolve, unreadable};
use crate::spreadsheet::read::xml::{Walk, attribute, flag};

/// A tab and the part it is stored in.
#[derive(Clone, Debug)]
pub(crate) struct TabPart {
    pub(crate) name: String,
    pub(crate) visibility: Visibility,
    pub(crate) kind: TabKind,
    pub(crate) part: String,
}

/// The plan of a workbook.
pub(crate) struct Layout {
    pub(crate) workbook: String,
    pub(crate) tabs: Vec<TabPart>,
    pub(crate) names: Vec<DefinedName>,
    pub(crate) styles: Option<String>,
    pub(crate) shared_texts: Option<String>,
    pub(crate) calc_chain: Option<String>,
    pub(crate) signed: bool,
    pub(crate) pivots: bool,
    /// Whether its days are counted from 1904.
    pub(crate) since_1904: bool,
    /// Whether it bears the marks of a library that writes formulas and calculates none.
    pub(crate) by_a_library: bool,
    /// Whether its program calculates with what cells show.
    pub(crate) as_shown: bool,
    /// Whether its program calculates only when a person asks for it.
    pub(crate) by_hand: bool,
    /// The ending that goes with the kind of its workbook, where that is said.
    pub(crate) ending: Option<&'static str>,
}

impl Layout {
    /// The workbook of this plan with its tabs.
    pub(crate) fn book(&self, name: &str, tabs: Vec<Tab>, pieces: Arc<Pieces>) -> Book {
        Book {
            uncalculated: self.uncalculated(&tabs),
            as_shown: self.as_shown,
            by_hand: self.by_hand,
            names: self.names.clone(),
            pieces,
            meant_ending: self.ending.filter(|own| name != "-" && super::ending(name, b"") != *own),
            ..Book::plain(name, Form::Xlsx, tabs)
        }
    }

    /// Reads the plan.
    pub(crate) fn read(archive: &mut Archive<'_>) -> Result<Self, Problems> {
        let root = Relationships::of(archive, "")?;
        let workbook = root.target("/officeDocument").ok_or_else(|| {
            vec![archive.broken("it does not say which of its parts is the workbook")]
        })?;
        let related = Relationships::of(archive, &workbook)?;
        let text = archive.need(&workbook)?.text;
        let raw = Raw::read(&text)
            .map_err(|words| vec![archive.broken(&format!("its part `{workbook}`: {words}"))])?;
        let tabs = tabs(&raw, &related).map_err(|words| vec![archive.broken(&words)])?;
        let known: Vec<&str> = tabs.iter().map(|tab| tab.name.as_str()).collect();
        let names = raw.names.iter().map(|name| name.resolve(&known)).collect();
        Ok(Self {
            tabs,
            names,
            styles: related.target("/styles"),
            shared_texts: related.target("/sharedStrings"),
            calc_chain: related.target("/calcChain"),
            signed: archive.any_under("_xmlsignatures/"),
            pivots: archive.any_under("xl/pivotcache/"),
            since_1904: raw.since_1904,
            by_a_library: raw.by_a_library,
            as_shown: raw.as_shown,
            by_hand: raw.by_hand,
            ending: ending_of(archive)?,
            workbook,
        })
    }

    /// Whether the formulas look as if nothing had ever calculated them: all their saved results are zero or missing,
    /// or a library wrote the file, which leaves its marks (common practice, no source).
    pub(crate) fn uncalculated(&self, tabs: &[Tab]) -> bool {
        self.by_a_library || !tabs.iter().any(|tab| tab.calculated)
    }

    /// The tab of that name; names of tabs are equal without regard to case.
    pub(crate) fn tab(&self, name: &str) -> Option<(usize, &TabPart)> {
        let wanted = name.to_lowercase();
        self.tabs.iter().enumerate().find(|(_, tab)| tab.name.to_lowercase() == wanted)
    }
}

/// The kinds of a workbook and their endings; ECMA-376 Part 1, 12.3.23, and for macros common practice, no source.
const ENDINGS: &[(&str, &str)] = &[
    ("spreadsheetml.sheet.main+xml", "xlsx"),
    ("sheet.macroenabled.main+xml", "xlsm"),
    ("spreadsheetml.template.main+xml", "xltx"),
    ("template.macroenabled.main+xml", "xltm"),
];

fn ending_of(archive: &mut Archive<'_>) -> Result<Option<&'static str>, Problems> {
    let Some(types) = archive.text("[Content_Types].xml")? else { return Ok(None) };
    let types = types.text.to_ascii_lowercase();
    Ok(ENDINGS.iter().find(|(kind, _)| types.contains(kind)).map(|it| it.1))
}

/// The relationships of a part: by id, kind and target.
pub(crate) struct Relationships(BTreeMap<String, (String, String)>);

impl Relationships {
    /// Reads them; a part without any has an empty list.
    pub(crate) fn of(archive: &mut Archive<'_>, part: &str) -> Result<Self, Problems> {
        let mut found = BTreeMap::new();
        let name = relationships_of(part);
        let Some(rels) = archive.text(&name)? else { return Ok(Self(found)) };
        let mut walk = Walk::new(&rels.text);
        let broken =
            |words| vec![unreadable(&archive.file, &format!("its part `{name}`: {words}"))];
        while let Some(step) = walk.next().map_err(broken)? {
            let (Event::Start(element) | Event::Empty(element)) = &step.event else { continue };
            let inside = attribute(element, "TargetMode").is_none_or(|mode| mode != "External");
            if element.local_name().as_ref() == "Relationship" && inside {
                let kind = attribute(element, "Type").unwrap_or_default();
                let target = attribute(element, "Target").unwrap_or_default();
                let id = attribute(element, "Id").unwrap_or_default();
                found.insert(id, (kind, resolve(part, &target)));
            }
        }
        Ok(Self(found))
    }

    /// The target of an id.
    pub(crate) fn of_id(&self, id: &str) -> Option<&str> {
        self.0.get(id).map(|(_, target)| target.as_str())
    }

    /// The first target whose kind ends so; both families of the standard end alike.
    pub(crate) fn target(&self, ending: &str) -> Option<String> {
        self.targets(ending).next()
    }

    /// All targets whose kind ends so.
    pub(crate) fn targets(&self, ending: &str) -> impl Iterator<Item = String> {
        let found = self.0.values().filter(move |(kind, _)| kind.ends_with(ending));
        found.map(|(_, target)| target.clone())
    }
}

/// The engine that libraries name which write formulas and calculate none, and ask for a calculation on opening:
/// one of 2007, which no program of today names (seen in files of three of them).
const OF_LIBRARIES: &str = "124519";

/// `xl/workbook.xml` as it stands, before its relationships are followed.
#[derive(Default)]
struct Raw {
    sheets: Vec<(String, Visibility, String)>,
    names: Vec<RawName>,
    since_1904: bool,
    by_a_library: bool,
    as_shown: bool,
    by_hand: bool,
}

struct RawName {
    name: String,
    scope: Option<usize>,
    hidden: bool,
    text: String,
}

impl Raw {
    fn read(text: &str) -> Result<Self, String> {
        let mut raw = Self::default();
        let mut walk = Walk::new(text);
        while let Some(step) = walk.next()? {
            let (Event::Start(element) | Event::Empty(element)) = &step.event else { continue };
            let open = matches!(step.event, Event::Start(_));
            match element.local_name().as_ref() {
                "sheet" if step.depth == 3 => raw.sheets.push(sheet(element)),
                "workbookPr" if step.depth == 2 => {
                    raw.since_1904 = flag(element, "date1904", false)
                }
                "calcPr" if step.depth == 2 => {
                    let asks = flag(element, "fullCalcOnLoad", false);
                    let engine = attribute(element, "calcId");
                    raw.by_a_library = asks && engine.as_deref() == Some(OF_LIBRARIES);
                    raw.as_shown = !flag(element, "fullPrecision", true);
                    raw.by_hand = attribute(element, "calcMode").as_deref() == Some("manual");
                }
                "definedName" if open && step.depth == 3 => {
                    raw.names.push(RawName {
                        name: attribute(element, "name").unwrap_or_default(),
                        scope: attribute(element, "localSheetId").and_then(|id| id.parse().ok()),
                        hidden: flag(element, "hidden", false),
                        text: walk.text()?,
                    });
                }
                _ => {}
            }
        }
        Ok(raw)
    }
}

fn sheet(element: &BytesStart<'_>) -> (String, Visibility, String) {
    let visibility = match attribute(element, "state").as_deref() {
        Some("hidden") => Visibility::Hidden,
        Some("veryHidden") => Visibility::DeeplyHidden,
        _ => Visibility::Visible,
    };
    let name = attribute(element, "name").unwrap_or_default();
    (name, visibility, attribute(element, "id").unwrap_or_default())
}

fn tabs(raw: &Raw, related: &Relationships) -> Result<Vec<TabPart>, String> {
    let mut tabs: Vec<TabPart> = Vec::new();
    for (name, visibility, id) in &raw.sheets {
        let (kind, part) =
            related.0.get(id).ok_or_else(|| format!("its tab `{name}` has no content"))?;
        let kind = match kind.rsplit('/').next() {
            Some("worksheet") => TabKind::Cells,
            Some("chartsheet") => TabKind::Chart,
            _ => TabKind::Other,
        };
        let wanted = name.to_lowercase();
        if tabs.iter().any(|tab| tab.name.to_lowercase() == wanted || tab.part == *part) {
            return Err(format!("it has two tabs `{name}`, or two with the same content"));
        }
        let (name, part) = (name.clone(), part.clone());
        tabs.push(TabPart { name, visibility: *visibility, kind, part });
    }
    Ok(tabs)
}

impl RawName {
    fn resolve(&self, tabs: &[&str]) -> DefinedName {
        DefinedName {
            name: self.name.clone(),
            scope: self.scope.and_then(|at| tabs.get(at)).map(|tab| (*tab).to_owned()),
            hidden: self.hidden,
            built_in: self.name.starts_with("_xlnm."),
            target: target(self.text.trim(), tabs),
            text: self.text.clone(),
        }
    }
}

/// What the text of a name stands for among the tabs.
pub(crate) fn target(text: &str, tabs: &[&str]) -> Target {
    let text = text.strip_prefix('=').unwrap_or(text);
    if text.to_ascii_uppercase().contains("#REF!") {
        return Target::Broken;
    }
    let Some((tab, cells)) = split_tab(text) else { return Target::NotCells };
    if tab.contains(['[', ']']) {
        return Target::NotCells;
    }
    let (one, other) = cells.split_once(':').unwrap_or((cells, cells));
    let Some((first, last)) = both(one, other) else { return Target::NotCells };
    let fixed =
        |corner: &crate::spreadsheet::formula::Corner| corner.row_fixed && corner.column_fixed;
    if !fixed(&first) || !fixed(&last) {
        return Target::Relative;
    }
    let wanted = tab.to_lowercase();
    match tabs.iter().find(|known| known.to_lowercase() == wanted) {
        Some(known) => {
            Target::Cells { tab: (*known).to_owned(), area: Area::between(first.cell, last.cell) }
        }
        None => Target::MissingTab(tab),
    }
}

/// `'My ''own'' tab'!$A$1` into the name of the tab and the rest.
fn split_tab(text: &str) -> Option<(String, &str)> {
    let (tab, cells) = text.rsplit_once('!')?;
    match tab.strip_prefix('\'') {
        Some(quoted) => {
            let inner = quoted.strip_suffix('\'')?;
            let single = inner.replace("''", "");
            (!single.contains('\'')).then(|| (inner.replace("''", "'"), cells))
        }
        None => {
            let plain = |c: char| c.is_alphanumeric() || c == '_' || c == '.' || !c.is_ascii();
            tab.chars().all(plain).then(|| (tab.to_owned(), cells))
        }
    }
}

/// The library looks for the shared texts under one fixed name.
pub(crate) fn shared_texts_where_expected(
    archive: &Archive<'_>,
    layout: &Layout,
) -> Result<(), Problems> {
    let folder = layout.workbook.rsplit_once('/').map_or("", |(folder, _)| folder);
    let expected = format!("{folder}/sharedStrings.xml");
    let found = layout.shared_texts.as_deref();
    let same = found.map_or_else(
        || archive.find(&expected).is_none(),
        |found| archive.find(found) == archive.find(&expected),
    );
    if same { Ok(()) } else { Err(archive.broken("its texts lie in an unusual place").into()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_point_to_cells_or_say_why_not() {
        let tabs = ["Inputs", "Fan's data"];
        let cells = |tab: &str, area: &str| Target::Cells {
            tab: tab.to_owned(),
            area: Area::parse(area).unwrap(),
        };
        for (text, expected) in [
            ("Inputs!$C$7", cells("Inputs", "C7")),
            ("inputs!$C$7:$D$9", cells("Inputs", "C7:D9")),
            ("'Fan''s data'!$A:$B", cells("Fan's data", "A:B")),
            ("Inputs!$2:$3", cells("Inputs", "2:3")),
            ("Inputs!#REF!", Target::Broken),
            ("#REF!", Target::Broken),
            ("inputs!#ref!", Target::Broken),
            ("Gone!$A$1", Target::MissingTab("Gone".to_owned())),
            ("Inputs!C7", Target::Relative),
            ("Inputs!$C$7,Inputs!$C$9", Target::NotCells),
            ("[1]Inputs!$C$7", Target::NotCells),
            ("9.81", Target::NotCells),
            ("SUM(Inputs!$A$1:$A$3)", Target::NotCells),
            ("Inputs!$C$7*2", Target::NotCells),
        ] {
            assert_eq!(target(text, &tabs), expected, "{text}");
        }
    }
}
