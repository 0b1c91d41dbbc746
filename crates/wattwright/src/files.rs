//! All reading and writing of files.

use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use catalog::Catalog;
use reading::{Diagnostic, Files, LARGEST_FILE_BYTES, SourceText, decode};
use site::Site;

use crate::cli::SiteArgs;

/// Interval data of a year at one minute stays under this.
const LARGEST_DATA_BYTES: u64 = 64 * 1024 * 1024;

/// Files beside a site file.
pub(crate) struct Beside(PathBuf);

impl Files for Beside {
    fn read(&self, name: &str) -> Result<Vec<u8>, String> {
        let path = self.0.join(name);
        read_at_most(&path, LARGEST_DATA_BYTES).map_err(|why| format!("{}: {why}", path.display()))
    }
}

/// Everything that a command about a site needs.
pub(crate) struct Loaded {
    pub site: Site,
    pub catalog: Catalog,
    pub files: Beside,
    pub sources: Vec<SourceText>,
}

/// What kept a command from its input.
pub(crate) struct Refused {
    pub diagnostics: Vec<Diagnostic>,
    pub sources: Vec<SourceText>,
}

fn read_at_most(path: &Path, most: u64) -> Result<Vec<u8>, String> {
    let metadata = fs::metadata(path).map_err(|e| plain(&e))?;
    if metadata.is_dir() {
        return Err("is a folder".to_owned());
    }
    if metadata.len() > most {
        return Err(format!("is larger than {} MB", most / 1024 / 1024));
    }
    let mut bytes = Vec::new();
    File::open(path).and_then(|file| file.take(most + 1).read_to_end(&mut bytes)).map_err(|e| plain(&e))?;
    if bytes.len() as u64 > most {
        return Err(format!("is larger than {} MB", most / 1024 / 1024));
    }
    Ok(bytes)
}

fn plain(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "not found".to_owned(),
        std::io::ErrorKind::PermissionDenied => "may not be read".to_owned(),
        _ => error.to_string(),
    }
}

fn source(path: &Path) -> Result<SourceText, Box<Diagnostic>> {
    let name = path.display().to_string();
    let bytes =
        read_at_most(path, LARGEST_FILE_BYTES).map_err(|why| {
            Box::new(Diagnostic::new("unreadable-file", format!("{name}: {why}")).help(
                "give a site file, or a folder with a site.toml in it; `wattwright new` writes a starter",
            ))
        })?;
    decode(&name, &bytes)
}

/// Catalogue files of a folder, by name.
fn folder(path: &Path, diagnostics: &mut Vec<Diagnostic>) -> Vec<SourceText> {
    let entries = match fs::read_dir(path) {
        Ok(entries) => entries,
        Err(error) => {
            let message = format!("{}: {}", path.display(), plain(&error));
            diagnostics.push(
                Diagnostic::new("unreadable-file", message)
                    .help("give a folder with catalogue files (*.toml)"),
            );
            return Vec::new();
        }
    };
    let mut paths: Vec<PathBuf> = entries
        .filter_map(|e| e.ok().map(|e| e.path()))
        .filter(|p| p.extension().is_some_and(|x| x == "toml"))
        .collect();
    paths.sort();
    paths.iter().filter_map(|p| source(p).map_err(|diagnostic| diagnostics.push(*diagnostic)).ok()).collect()
}

/// Reads a site and its catalogues, with every mistake of all of them.
pub(crate) fn load(args: &SiteArgs) -> Result<Box<Loaded>, Refused> {
    let path = if args.site.is_dir() { args.site.join("site.toml") } else { args.site.clone() };
    let home = path.parent().map_or_else(PathBuf::new, Path::to_path_buf);
    let mut diagnostics = Vec::new();
    let mut sources = Vec::new();
    let mut catalogs = catalog::demo_sources();
    let own = home.join("catalog");
    let beside = own.is_dir().then_some(&own);
    for path in args.catalog.iter().chain(beside) {
        catalogs.extend(folder(path, &mut diagnostics));
    }
    let site = match source(&path) {
        Ok(text) => {
            let (site, mistakes) = site::read(&text);
            diagnostics.extend(mistakes);
            sources.push(text);
            site
        }
        Err(diagnostic) => {
            diagnostics.push(*diagnostic);
            None
        }
    };
    let (catalog, mistakes) = catalog::read(&catalogs);
    diagnostics.extend(mistakes);
    sources.extend(catalogs);
    match (site, catalog) {
        (Some(site), Some(catalog)) if diagnostics.is_empty() => {
            Ok(Box::new(Loaded { site, catalog, files: Beside(home), sources }))
        }
        _ => Err(Refused { diagnostics, sources }),
    }
}

/// A file beside its place, whole, still to be moved there.
fn beside(path: &Path, bytes: &[u8]) -> Result<tempfile::NamedTempFile, String> {
    let say = |error: &std::io::Error| format!("{} cannot be written: {}", path.display(), plain(error));
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = tempfile::NamedTempFile::new_in(folder).map_err(|e| say(&e))?;
    file.write_all(bytes).map_err(|e| say(&e))?;
    open_to_all(&file);
    Ok(file)
}

/// Writes a file whole or not at all; never over an existing one.
///
/// # Errors
/// It exists, or its folder cannot be written.
pub(crate) fn write_new(path: &Path, text: &str) -> Result<(), String> {
    beside(path, text.as_bytes())?.persist_noclobber(path).map(|_| ()).map_err(|e| {
        if e.error.kind() == std::io::ErrorKind::AlreadyExists {
            format!("{} exists already; nothing was written", path.display())
        } else {
            format!("{}: {}", path.display(), plain(&e.error))
        }
    })
}

/// Writes files, over those that are there: none of them before all are whole beside their places.
///
/// # Errors
/// Two of them are one, a folder stands in the place of one, or a folder cannot be written.
pub(crate) fn write_over(files: &[(&Path, Vec<u8>)]) -> Result<(), String> {
    for (k, (path, _)) in files.iter().enumerate() {
        if path.is_dir() {
            return Err(format!("{} cannot be written: it is a folder", path.display()));
        }
        if files.iter().take(k).any(|(other, _)| other == path) {
            return Err(format!("{} cannot be written: it is asked for twice", path.display()));
        }
    }
    let whole: Vec<_> = files
        .iter()
        .map(|(path, bytes)| beside(path, bytes).map(|file| (file, *path)))
        .collect::<Result<_, _>>()?;
    for (file, path) in whole {
        file.persist(path)
            .map_err(|e| format!("{} cannot be written: {}", path.display(), plain(&e.error)))?;
    }
    Ok(())
}

/// Writes a folder with all of its files, or nothing. It may be there if it is empty.
///
/// # Errors
/// It has something in it, or the folder above it cannot be written.
pub(crate) fn write_folder(path: &Path, files: &[(String, String)]) -> Result<(), String> {
    let say = |path: &Path, e: &std::io::Error| format!("{}: {}", path.display(), plain(e));
    match fs::read_dir(path).map(|mut entries| entries.next().is_some()) {
        Ok(true) => return Err(format!("{} has something in it; nothing was written", path.display())),
        Ok(false) => {}
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => {}
        Err(e) => return Err(say(path, &e)),
    }
    let above = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let made = tempfile::tempdir_in(above).map_err(|e| say(above, &e))?;
    for (name, text) in files {
        write_new(&made.path().join(name), text)?;
    }
    passable(made.path());
    // an empty folder gives way
    let _ = fs::remove_dir(path);
    fs::rename(made.path(), path).map_err(|e| say(path, &e))?;
    let _ = made.keep();
    Ok(())
}

#[cfg(unix)]
fn passable(folder: &Path) {
    use std::os::unix::fs::PermissionsExt;
    let _ = fs::set_permissions(folder, fs::Permissions::from_mode(0o755));
}

#[cfg(not(unix))]
fn passable(_: &Path) {}

/// Temporary files are private; what is kept is as readable as any new file.
#[cfg(unix)]
fn open_to_all(file: &tempfile::NamedTempFile) {
    use std::os::unix::fs::PermissionsExt;
    let _ = file.as_file().set_permissions(fs::Permissions::from_mode(0o644));
}

#[cfg(not(unix))]
fn open_to_all(_: &tempfile::NamedTempFile) {}
