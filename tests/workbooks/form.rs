//! A form is read back by `fill` as it stands.
