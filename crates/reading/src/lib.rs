//! Reads TOML documents with places kept. All mistakes are reported, not the first: a getter that fails adds a
//! [`Diagnostic`] and returns `None`, and reading goes on.
//!
//! The same reading code describes itself: run against a [`Section`] that only listens, it yields the JSON Schema,
//! so schema and reader cannot drift apart. For that, call every getter before the first `?`.
//!
//! ```
//! use quantity::Current;
//! use reading::{Section, SourceText, read_document};
//! struct Service { rating: reading::Placed<Current> }
//! fn service(s: &Section<'_>) -> Option<Service> {
//!     let rating = s.need_quantity::<Current>("rating", "rating of the service disconnect");
//!     Some(Service { rating: rating? })
//! }
//! let source = SourceText::new("site.toml", "rating = \"200 A\"\n");
//! let (service, mistakes) = read_document(&source, service);
//! assert!(mistakes.is_empty());
//! assert_eq!(service.unwrap().rating.value.to_string(), "200 A");
//! ```

mod diagnostic;
mod document;
mod placed;
mod section;
mod source;

pub use diagnostic::{Diagnostic, render, sort};
pub use document::{LARGEST_FILE_BYTES, decode, describe, read_document};
pub use placed::{Decision, Placed};
pub use section::Section;
pub use source::SourceText;

/// Gives the bytes of files that a site or catalogue names; implemented at the edge, so that nothing inside
/// touches a disk.
pub trait Files {
    /// Bytes of a file by the name used in the site file, relative to it.
    ///
    /// # Errors
    /// A sentence for people: not there, not readable, larger than allowed.
    fn read(&self, name: &str) -> Result<Vec<u8>, String>;
}
