//! Series of preferred numbers.

use crate::program::Preferred;

/// A series of preferred numbers: one decade, from 1 to below 10.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Series {
    /// Name as a sheet writes it.
    pub name: &'static str,
    /// Numbers of one decade in hundredths, rising.
    pub hundredths: &'static [u16],
    /// Where the numbers come from.
    pub source: &'static str,
}

const IEC: &str = "IEC 60063, as printed by the library eseries 1.2.1 (PyPI)";
const ISO: &str = "ISO 3, from memory";

macro_rules! decades {
    ($($name:ident $source:ident [$($number:literal)*];)*) => {
        $(static $name: Series = Series {
            name: stringify!($name), hundredths: &[$($number),*], source: $source,
        };)*

        /// The decade of a series.
        ///
        /// # Example
        /// ```
        /// use standstill::{number::series, program::Preferred};
        /// assert_eq!(series(Preferred::E6).hundredths, [100, 150, 220, 330, 470, 680]);
        /// ```
        #[must_use]
        pub fn series(which: Preferred) -> &'static Series {
            match which {
                $(Preferred::$name => &$name,)*
            }
        }
    };
}

decades! {
    E3 IEC [100 220 470];
    E6 IEC [100 150 220 330 470 680];
    E12 IEC [100 120 150 180 220 270 330 390 470 560 680 820];
    E24 IEC [100 110 120 130 150 160 180 200 220 240 270 300 330 360 390 430 470 510 560 620 680 750
        820 910];
    E48 IEC [100 105 110 115 121 127 133 140 147 154 162 169 178 187 196 205 215 226 237 249 261 274
        287 301 316 332 348 365 383 402 422 442 464 487 511 536 562 590 619 649 681 715 750 787 825
        866 909 953];
    E96 IEC [100 102 105 107 110 113 115 118 121 124 127 130 133 137 140 143 147 150 154 158 162 165
        169 174 178 182 187 191 196 200 205 210 215 221 226 232 237 243 249 255 261 267 274 280 287
        294 301 309 316 324 332 340 348 357 365 374 383 392 402 412 422 432 442 453 464 475 487 499
        511 523 536 549 562 576 590 604 619 634 649 665 681 698 715 732 750 768 787 806 825 845 866
        887 909 931 953 976];
    R5 ISO [100 160 250 400 630];
    R10 ISO [100 125 160 200 250 315 400 500 630 800];
    R20 ISO [100 112 125 140 160 180 200 224 250 280 315 355 400 450 500 560 630 710 800 900];
    R40 ISO [100 106 112 118 125 132 140 150 160 170 180 190 200 212 224 236 250 265 280 300 315 335
        355 375 400 425 450 475 500 530 560 600 630 670 710 750 800 850 900 950];
}
