//! Which values of a sheet of the library play which part in a picture of it: decided once, for the review's
//! page and for the chart of a result workbook.

use crate::program::{Program, Register, Scope};

/// A picture that a sheet can be drawn as, and where the names of its roles stand.
pub(crate) struct PictureSpec {
    pub(crate) kind: Kind,
    /// The sheet.
    pub(crate) sheet: &'static str,
    /// Role, path of the sheet that is used, name there; `^` before a name takes the result as it is given,
    /// rounded.
    pub(crate) roles: &'static [(&'static str, &'static str, &'static str)],
}

/// What a picture shows.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Speed over time with ramp, removal of torque and run-down.
    Stop,
    /// Speed over time in a run-down alone.
    RunDown,
    /// Power over a cycle.
    Power,
    /// Temperature over a cycle.
    Heat,
    /// Temperature of a brake over many stops.
    Brake,
    /// Plan view of a separation distance.
    Plan,
    /// Speed and way over time in courses, without roles: see `motion`.
    Course,
}

impl Kind {
    /// As the page in the browser calls it.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Stop => "stop",
            Self::RunDown => "rundown",
            Self::Power => "power",
            Self::Heat => "heat",
            Self::Brake => "brake",
            Self::Plan => "plan",
            Self::Course => "course",
        }
    }
}

macro_rules! roles {
    ($($role:ident $path:literal $name:literal,)*) => { &[$((stringify!($role), $path, $name),)*] };
}

/// Every picture, by sheet.
pub(crate) static PICTURES: &[PictureSpec] = &[
    PictureSpec {
        kind: Kind::RunDown,
        sheet: "run-down",
        roles: roles! {
            n_0 "" "n_0", n_end "" "n_end", J "" "J", T_0 "" "T_0", b "" "b", c "" "c", T_load "" "T_load", t_release "" "t_stop",
            p_release "" "phi_stop",
        },
    },
    PictureSpec {
        kind: Kind::Stop,
        sheet: "ramp-then-release",
        roles: roles! {
            n_0 "" "n_0", n_end "" "n_end", J "" "J_ref", T_0 "" "T_0", b "" "b", c "" "c", T_load "" "T_load",
            t_release "coast_full" "t_stop", t_before "" "t_before", t_cut "" "t_release", t_ramp "" "t_ramp_slow", f "" "f",
            x "" "x", n_left "" "n_from", t_early "" "t_early", t_late "" "t_late", t_works "" "t_ramp_works", t_fails "" "t_ramp_fails",
            p_works "" "phi_ramp_works", p_fails "" "phi_ramp_fails", p_release "coast_full" "phi_stop", lead "" "lead",
        },
    },
    PictureSpec {
        kind: Kind::Stop,
        sheet: "safe-stop",
        roles: roles! {
            n_0 "" "n_0", n_end "release" "n_end", J "" "J_ref", T_0 "" "T_0", b "" "b", c "" "c", T_load "" "T_load",
            t_release "release" "t_stop", t_before "ss1" "t_before", t_cut "ss1" "t_release", t_ramp "ss1" "t_ramp_slow", f "" "f",
            x "ss1" "x", n_left "ss1" "n_from", t_early "ss1" "t_early", t_late "ss1" "t_late", t_works "ss1" "t_ramp_works", t_fails "ss1" "t_ramp_fails",
            p_works "ss1" "phi_ramp_works", p_fails "ss1" "phi_ramp_fails", p_release "release" "phi_stop", i "" "i",
        },
    },
    PictureSpec {
        kind: Kind::Power,
        sheet: "safe-stop",
        roles: roles! {
            P_peak "regen" "P_peak", P_mean "resistor" "P_mean", t_ramp "ss1" "t_ramp_quick", t_cycle "" "t_cycle", E "regen" "E",
            C "" "C_link", U_0 "" "U_0", U_chop "" "U_chop", U_trip "" "U_trip", chopper "" "chopper",
        },
    },
    PictureSpec {
        kind: Kind::Power,
        sheet: "brake-resistor",
        roles: roles! {
            P_peak "" "P_peak", P_mean "window" "P_mean", t_ramp "" "t_ramp", t_cycle "" "t_cycle", E "" "E",
        },
    },
    PictureSpec {
        kind: Kind::Heat,
        sheet: "resistor-pulse",
        roles: roles! {
            P_k "" "P_k", t_k "" "t_k", R_th "" "R_th", tau "" "tau", T_air "" "T_air", limit "" "dT_max",
            d_cold "" "d_cold", d_warm "" "d_warm", x_0 "" "x_0",
        },
    },
    PictureSpec {
        kind: Kind::Heat,
        sheet: "motor-thermal",
        roles: roles! {
            P_k "" "P_k", t_k "" "t_k", R_th "" "R_th", tau "" "tau", T_air "" "T_air", limit "" "d_perm",
            d_cold "" "d_cold", d_warm "" "d_warm", x_0 "" "x_0",
        },
    },
    PictureSpec {
        kind: Kind::Brake,
        sheet: "brake-heating",
        roles: roles! {
            d_one "" "d_one", d_peak "" "d_peak", z "" "z", tau "" "tau", T_air "" "T_air", T_max "" "T_max",
        },
    },
    PictureSpec {
        kind: Kind::Plan,
        sheet: "safe-stop",
        roles: roles! {
            K "curtain_works" "K", T "curtain_works" "T", C "curtain_works" "C", Z "" "Z", S "" "S_works",
            K2 "curtain_fails" "K", T2 "curtain_fails" "T", C2 "curtain_fails" "C", S2 "" "S_fails",
            which "" "stands_on", there "" "S_there",
        },
    },
    PictureSpec {
        kind: Kind::Plan,
        sheet: "separation-curtain",
        roles: roles! {
            K "" "K", T "" "T", C "" "C", Z "" "Z", S "" "S_fit",
        },
    },
    PictureSpec {
        kind: Kind::Plan,
        sheet: "parallel-approach",
        roles: roles! { K "" "K", T "" "T", C "" "C", S "" "^S", },
    },
    PictureSpec {
        kind: Kind::Plan,
        sheet: "pressure-mat",
        roles: roles! { K "" "K", T "" "T", C "" "C", S "" "^S", },
    },
    PictureSpec {
        kind: Kind::Plan,
        sheet: "several-beams",
        roles: roles! { K "" "K", T "" "T", C "" "C", S "" "^S", },
    },
    PictureSpec {
        kind: Kind::Plan,
        sheet: "two-hand-control",
        roles: roles! { K "" "K", T "" "T", C "" "C", S "" "^S", },
    },
    PictureSpec {
        kind: Kind::Plan,
        sheet: "guard-opening",
        roles: roles! { K "" "K", T "" "T_in", C "" "C", S "" "^S", },
    },
];

/// The picture of the courses of any sheet.
pub(crate) static COURSES: PictureSpec = PictureSpec { kind: Kind::Course, sheet: "", roles: &[] };

/// What stands at the separation distance of a plan, by sheet, and whether it looks across a gap.
pub(crate) fn device(sheet: &str) -> (&'static str, bool) {
    match sheet {
        "parallel-approach" => ("outer edge of the field", false),
        "pressure-mat" => ("far edge of the mat", false),
        "several-beams" => ("row of light beams", true),
        "two-hand-control" => ("nearer actuator", false),
        "guard-opening" => ("guard", false),
        "separation-curtain" => ("light curtain", true),
        _ => ("protective device", false),
    }
}

/// The pictures of one sheet of the tree of `uses`.
pub(crate) fn of<'a>(
    program: &'a Program,
    scope: Option<&'a Scope>,
) -> impl Iterator<Item = &'static PictureSpec> + 'a {
    let (sheet, path) = scope.map_or(("", ""), |scope| (scope.sheet.as_str(), scope.path.as_str()));
    PICTURES.iter().filter(move |drawn| {
        drawn.sheet == sheet
            && drawn
                .roles
                .iter()
                .all(|(_, below, name)| register(program, &joined(path, below), name).is_some())
    })
}

/// The stop of a sheet as speed over time, with the path of the used sheet it stands in: the asked sheet's
/// own, else that of the first sheet it uses that has one.
pub(crate) fn speed_over_time(program: &Program) -> Option<(&'static PictureSpec, String)> {
    program.scopes.iter().find_map(|scope| {
        let drawn = of(program, Some(scope))
            .find(|drawn| matches!(drawn.kind, Kind::Stop | Kind::RunDown))?;
        Some((drawn, scope.path.trim_end_matches('.').to_owned()))
    })
}

/// A path of aliases below another.
pub(crate) fn joined(path: &str, below: &str) -> String {
    match (path.trim_end_matches('.'), below) {
        ("", below) => below.to_owned(),
        (path, "") => path.to_owned(),
        (path, below) => format!("{path}.{below}"),
    }
}

/// The register behind a name of the sheet at a path of aliases.
pub(crate) fn register(program: &Program, path: &str, name: &str) -> Option<Register> {
    let (name, given) = name.strip_prefix('^').map_or((name, false), |name| (name, true));
    let whole = if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
    let scope =
        program.scopes.iter().find(|scope| scope.path == path || scope.path == format!("{path}."));
    let named = scope
        .filter(|_| !given)
        .and_then(|scope| scope.names.get(name))
        .and_then(|id| program.line(*id));
    let line = named.or_else(|| program.lines.iter().rev().find(|line| line.name == whole))?;
    Some(line.register)
}
