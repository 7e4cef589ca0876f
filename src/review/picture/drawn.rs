//! Which sheet is drawn as what, and where the numbers of each picture stand: a line a picture.

use super::plot::{Bands, Plot};
use super::{Roles, heat, power, stop};

/// A picture that a sheet can be drawn as, and where the names of its roles stand.
pub(super) struct Drawn {
    pub(super) kind: Kind,
    pub(super) sheet: &'static str,
    /// Role, path of the sheet that is used, name there.
    pub(super) roles: &'static [(&'static str, &'static str, &'static str)],
}

/// What is drawn.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Stop,
    RunDown,
    Power,
    Heat,
    Brake,
    Plan,
}

impl Kind {
    /// The word by which the page knows it.
    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Stop => "stop",
            Self::RunDown => "rundown",
            Self::Power => "power",
            Self::Heat => "heat",
            Self::Brake => "brake",
            Self::Plan => "plan",
        }
    }

    /// The picture as curves; none for a plan.
    pub(super) fn plot(self, roles: &Roles) -> Option<Plot> {
        Some(match self {
            Self::Stop => stop::plot(roles),
            Self::RunDown => stop::plot_run_down(roles),
            Self::Power => power::plot(roles),
            Self::Heat => heat::plot(roles),
            Self::Brake => heat::plot_brake(roles),
            Self::Plan => return None,
        })
    }

    /// Where its curves can lie between two ends of its roles.
    pub(super) fn bands(self, low: &Roles, high: &Roles) -> Bands {
        match self {
            Self::Stop => stop::bands(low, high),
            Self::RunDown => stop::bands_run_down(low, high),
            Self::Power => power::bands(low, high),
            Self::Heat => heat::bands(low, high),
            Self::Brake => heat::bands_brake(low, high),
            Self::Plan => Bands::new(),
        }
    }
}

macro_rules! roles {
    ($($role:ident $path:literal $name:literal,)*) => { &[$((stringify!($role), $path, $name),)*] };
}

/// Every picture, by sheet.
pub(super) static DRAWN: &[Drawn] = &[
    Drawn {
        kind: Kind::RunDown,
        sheet: "run-down",
        roles: roles! {
            n_0 "" "n_0", n_end "" "n_end", J "" "J", T_0 "" "T_0", b "" "b", c "" "c", T_load "" "T_load", t_release "" "t_stop",
            p_release "" "phi_stop",
        },
    },
    Drawn {
        kind: Kind::Stop,
        sheet: "ramp-then-release",
        roles: roles! {
            n_0 "" "n_0", n_end "" "n_end", J "" "J_ref", T_0 "" "T_0", b "" "b", c "" "c", T_load "" "T_load",
            t_release "coast_full" "t_stop", t_before "" "t_before", t_cut "" "t_release", t_ramp "" "t_ramp_slow", f "" "f",
            x "" "x", n_left "" "n_left", t_early "" "t_early", t_late "" "t_late", t_works "" "t_ramp_works", t_fails "" "t_ramp_fails",
            p_works "" "phi_ramp_works", p_fails "" "phi_ramp_fails", p_release "coast_full" "phi_stop", lead "" "lead",
        },
    },
    Drawn {
        kind: Kind::Stop,
        sheet: "safe-stop",
        roles: roles! {
            n_0 "" "n_0", n_end "" "n_end", J "" "J_ref", T_0 "" "T_0", b "" "b", c "" "c", T_load "" "T_load",
            t_release "release" "t_stop", t_before "ss1" "t_before", t_cut "ss1" "t_release", t_ramp "ss1" "t_ramp_slow", f "" "f",
            x "ss1" "x", n_left "ss1" "n_left", t_early "ss1" "t_early", t_late "ss1" "t_late", t_works "ss1" "t_ramp_works", t_fails "ss1" "t_ramp_fails",
            p_works "ss1" "phi_ramp_works", p_fails "ss1" "phi_ramp_fails", p_release "release" "phi_stop", i "" "i",
        },
    },
    Drawn {
        kind: Kind::Power,
        sheet: "safe-stop",
        roles: roles! {
            P_peak "regen" "P_peak", P_mean "resistor" "P_mean", t_ramp "ss1" "t_ramp_quick", t_cycle "" "t_cycle", E "regen" "E",
            C "" "C_link", U_0 "" "U_0", U_chop "" "U_chop", U_trip "" "U_trip", chopper "" "chopper",
        },
    },
    Drawn {
        kind: Kind::Power,
        sheet: "brake-resistor",
        roles: roles! {
            P_peak "" "P_peak", P_mean "window" "P_mean", t_ramp "" "t_ramp", t_cycle "" "t_cycle", E "" "E",
        },
    },
    Drawn {
        kind: Kind::Heat,
        sheet: "resistor-pulse",
        roles: roles! {
            P_k "" "P_k", t_k "" "t_k", R_th "" "R_th", tau "" "tau", T_air "" "T_air", limit "" "dT_max",
            d_cold "" "d_cold", d_warm "" "d_warm", x_0 "" "x_0",
        },
    },
    Drawn {
        kind: Kind::Heat,
        sheet: "motor-thermal",
        roles: roles! {
            P_k "" "P_k", t_k "" "t_k", R_th "" "R_th", tau "" "tau", T_air "" "T_air", limit "" "d_perm",
            d_cold "" "d_cold", d_warm "" "d_warm", x_0 "" "x_0",
        },
    },
    Drawn {
        kind: Kind::Brake,
        sheet: "brake-heating",
        roles: roles! {
            d_one "" "d_one", d_peak "" "d_peak", z "" "z", tau "" "tau", T_air "" "T_air", T_max "" "T_max",
        },
    },
    Drawn {
        kind: Kind::Plan,
        sheet: "safe-stop",
        roles: roles! {
            K "curtain_works" "K", T "curtain_works" "T", C "curtain_works" "C", Z "" "Z", S "" "S_works",
            K2 "curtain_fails" "K", T2 "curtain_fails" "T", C2 "curtain_fails" "C", S2 "" "S_fails",
            which "" "stands_on", there "" "S_there",
        },
    },
    Drawn {
        kind: Kind::Plan,
        sheet: "separation-curtain",
        roles: roles! {
            K "" "K", T "" "T", C "" "C", Z "" "Z", S "" "S_fit",
        },
    },
];

/// How a picture comes about.
pub(super) fn how(kind: Kind) -> &'static str {
    match kind {
        Kind::Stop => {
            "Speed and travel over time. Corner points are the program's own values; the ramp is drawn at its slowest; run-downs between them are the angular momentum balance with the sheet's friction, in 24 steps of speed, fitted to the time and the travel worked out."
        }
        Kind::RunDown => {
            "Speed and travel over time. The ends are the program's own values; the curve is the angular momentum balance with the sheet's friction, in 24 steps of speed, fitted to them."
        }
        Kind::Power => {
            "Power drawn as a straight fall from the program's own peak to zero within the quickest ramp. The sheet lets the resistor convert all of the energy, on the safe side; what the DC link takes up first is drawn from the energy of a capacitor."
        }
        Kind::Heat => {
            "The ends of each part are the program's own values; between them the rise moves to its last value with the sheet's time constant."
        }
        Kind::Brake => {
            "Two lines that the temperature goes to and fro between. The greatest rise is the program's own value; the way to it is a geometric series of like stops."
        }
        Kind::Plan => {
            "Plan view to scale. The parts of the sum are the program's own values; what the distance has beyond them comes from rounding up or from the least distance."
        }
    }
}
