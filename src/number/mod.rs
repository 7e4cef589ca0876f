//! The number systems a program runs on.
