//! Rules of the electrical codes.
