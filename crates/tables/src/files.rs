//! Table files of one book, read once.

use std::sync::LazyLock;

use crate::{Sheet, TableError};

/// A table file, read when it is first asked for.
pub(crate) type Loaded = LazyLock<Result<Sheet, TableError>>;

/// The table, or why its file cannot be used.
pub(crate) fn of(loaded: &'static Loaded) -> Result<&'static Sheet, TableError> {
    loaded.as_ref().map_err(Clone::clone)
}

/// Names the files of a folder under `data/`; `sheets` gives them all.
macro_rules! files {
    ($folder:literal: $($name:ident = $file:literal;)+) => {
        $(static $name: $crate::files::Loaded = std::sync::LazyLock::new(|| {
            $crate::Sheet::parse($file, include_str!(concat!("../../../../data/", $folder, "/", $file)))
        });)+

        /// Every table of the book, by file name.
        ///
        /// # Errors
        /// The first table that cannot be used.
        pub fn sheets() -> Result<Vec<(&'static str, &'static $crate::Sheet)>, $crate::TableError> {
            Ok(vec![$(($file, $crate::files::of(&$name)?)),+])
        }
    };
}

pub(crate) use files;

#[cfg(test)]
mod tests {
    #[test]
    fn every_file_of_the_folder_is_loaded_and_usable() {
        for (folder, sheets) in [("us", crate::us::sheets()), ("iec", crate::iec::sheets())] {
            let path = format!("{}/../../data/{folder}", env!("CARGO_MANIFEST_DIR"));
            let names = std::fs::read_dir(path).unwrap().map(|entry| entry.unwrap().file_name());
            let mut files: Vec<String> = names.map(|name| name.into_string().unwrap()).collect();
            files.retain(|name| name.ends_with(".csv"));
            files.sort();
            let mut loaded: Vec<&str> = sheets.unwrap().into_iter().map(|(file, _)| file).collect();
            loaded.sort_unstable();
            assert_eq!(files, loaded);
        }
    }
}
