//! A folder of files, written whole or not at all, and never over files of somebody else.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use sha2::{Digest, Sha256};

/// List of the files of a package with their SHA-256, as `sha256sum -c` reads it.
const CONTENTS: &str = "contents.txt";

/// SHA-256 in hexadecimal digits.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Files of a folder by their paths in it, with `/` between.
fn files(folder: &Path, prefix: &str, found: &mut BTreeSet<String>) -> std::io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = format!("{prefix}{}", entry.file_name().to_string_lossy());
        if entry.file_type()?.is_dir() {
            files(&entry.path(), &format!("{name}/"), found)?;
        } else {
            found.insert(name);
        }
    }
    Ok(())
}

/// Whether a folder may be written: it is not there, it is empty, or it holds an earlier package and nothing else.
///
/// # Errors
/// It may not; the text says why.
pub(crate) fn may_write(folder: &Path) -> Result<(), String> {
    let told = folder.display();
    if folder.symlink_metadata().is_err() {
        return Ok(());
    }
    if !folder.is_dir() {
        return Err(format!("{told} exists and is no folder"));
    }
    let mut found = BTreeSet::new();
    files(folder, "", &mut found).map_err(|e| format!("{told}: {e}"))?;
    let contents = fs::read_to_string(folder.join(CONTENTS)).unwrap_or_default();
    let of_package: BTreeMap<&str, &str> =
        contents.lines().filter_map(|l| l.split_once("  ")).map(|(hash, name)| (name, hash)).collect();
    for name in found.iter().filter(|n| *n != CONTENTS) {
        let Some(hash) = of_package.get(name.as_str()) else {
            return Err(format!("{told} holds {name}, which is of no package: give another folder"));
        };
        let bytes = fs::read(folder.join(name)).map_err(|e| format!("{told}/{name}: {e}"))?;
        if sha256(&bytes) != *hash {
            return Err(format!("{told}/{name} was changed since it was written: give another folder"));
        }
    }
    Ok(())
}

/// Writes files into a folder, all of them or none; returns their names.
///
/// # Errors
/// The folder may not be written, or writing failed.
pub(crate) fn write(folder: &Path, papers: &BTreeMap<String, Vec<u8>>) -> Result<Vec<String>, String> {
    may_write(folder)?;
    let failed = |e: std::io::Error| format!("{}: {e}", folder.display());
    let parent = folder.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::create_dir_all(parent).map_err(failed)?;
    let fresh = tempfile::Builder::new().prefix(".package-").tempdir_in(parent).map_err(failed)?;
    let mut contents = String::new();
    for (name, bytes) in papers {
        let path = fresh.path().join(name);
        if let Some(home) = path.parent() {
            fs::create_dir_all(home).map_err(failed)?;
        }
        fs::write(&path, bytes).map_err(failed)?;
        contents.push_str(&format!("{}  {name}\n", sha256(bytes)));
    }
    fs::write(fresh.path().join(CONTENTS), contents).map_err(failed)?;
    open_to_all(fresh.path());
    // an earlier package steps aside and goes only when the new one stands
    let old = tempfile::Builder::new().prefix(".package-").tempdir_in(parent).map_err(failed)?;
    let aside = old.path().join("old");
    let had = folder.exists();
    if had {
        fs::rename(folder, &aside).map_err(failed)?;
    }
    if let Err(error) = fs::rename(fresh.path(), folder) {
        if had {
            fs::rename(&aside, folder).map_err(failed)?;
        }
        return Err(failed(error));
    }
    let _ = fresh.keep();
    Ok(papers.keys().cloned().chain([CONTENTS.to_owned()]).collect())
}

/// Temporary folders are private; what is kept is as readable as any new folder.
#[cfg(unix)]
fn open_to_all(folder: &Path) {
    use std::os::unix::fs::PermissionsExt;
    let _ = fs::set_permissions(folder, fs::Permissions::from_mode(0o755));
}

#[cfg(not(unix))]
fn open_to_all(_: &Path) {}

#[cfg(test)]
mod tests {
    use super::*;

    fn papers(text: &str) -> BTreeMap<String, Vec<u8>> {
        [("report.pdf", text), ("schedules/loads.csv", "a\r\n")]
            .map(|(name, text)| (name.to_owned(), text.as_bytes().to_vec()))
            .into()
    }

    #[test]
    fn an_earlier_package_is_replaced_and_nothing_else_is_touched() {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("out");
        let names = write(&folder, &papers("one")).unwrap();
        assert_eq!(names, ["report.pdf", "schedules/loads.csv", "contents.txt"]);
        write(&folder, &papers("two")).unwrap();
        assert_eq!(fs::read(folder.join("report.pdf")).unwrap(), b"two");
        // nothing is left beside it
        assert_eq!(fs::read_dir(home.path()).unwrap().count(), 1);
        // what somebody else put there, or changed, stays
        fs::write(folder.join("notes.txt"), "mine").unwrap();
        assert!(write(&folder, &papers("three")).unwrap_err().contains("notes.txt"));
        fs::remove_file(folder.join("notes.txt")).unwrap();
        fs::write(folder.join("report.pdf"), "edited").unwrap();
        assert!(write(&folder, &papers("three")).unwrap_err().contains("report.pdf"));
        assert_eq!(fs::read(folder.join("report.pdf")).unwrap(), b"edited");
    }

    #[test]
    fn folders_above_are_made() {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("offers/november/out");
        write(&folder, &papers("one")).unwrap();
        assert_eq!(fs::read(folder.join("report.pdf")).unwrap(), b"one");
    }

    #[test]
    fn what_cannot_be_written_leaves_nothing() {
        let home = tempfile::tempdir().unwrap();
        let file = home.path().join("file");
        fs::write(&file, "x").unwrap();
        assert!(write(&file, &papers("one")).is_err());
        // a name that cannot be: a folder in the place of a file
        let clash = BTreeMap::from([("a".to_owned(), vec![1]), ("a/b".to_owned(), vec![2])]);
        assert!(write(&home.path().join("out"), &clash).is_err());
        assert_eq!(fs::read_dir(home.path()).unwrap().count(), 1);
    }
}
