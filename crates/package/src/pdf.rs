//! From templates and data to the bytes of a PDF: a world of a few files in memory and the fonts shipped with it. It
//! reads no disk and no clock, so the same input gives the same bytes.

use std::collections::BTreeMap;

use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::PdfOptions;

/// Fonts with open licences; see `fonts/README.md`.
const FONTS: [&[u8]; 6] = [
    include_bytes!("../fonts/NotoSans-Regular.ttf"),
    include_bytes!("../fonts/NotoSans-Bold.ttf"),
    include_bytes!("../fonts/NotoSans-Italic.ttf"),
    include_bytes!("../fonts/NotoSans-SemiCondensed.ttf"),
    include_bytes!("../fonts/NotoSans-SemiCondensedBold.ttf"),
    include_bytes!("../fonts/DejaVuSans-Symbols.ttf"),
];

/// Files of a document by their paths.
pub(crate) type Files = BTreeMap<String, Vec<u8>>;

struct Memory {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    main: FileId,
    files: Files,
}

impl Memory {
    fn find(&self, id: FileId) -> FileResult<&Vec<u8>> {
        let path = id.vpath().get_without_slash();
        self.files.get(path).ok_or_else(|| FileError::NotFound(path.into()))
    }
}

impl World for Memory {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        let text = std::str::from_utf8(self.find(id)?)?;
        Ok(Source::new(id, text.to_owned()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.find(id).map(|bytes| Bytes::new(bytes.clone()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.fonts.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

impl Memory {
    fn new(files: Files, main: &str) -> Result<Self, String> {
        let path = VirtualPath::new(main).map_err(|e| format!("{main}: {e:?}"))?;
        let fonts: Vec<Font> = FONTS.iter().flat_map(|data| Font::iter(Bytes::new(*data))).collect();
        Ok(Self {
            library: LazyHash::new(<Library as LibraryExt>::default()),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
            main: RootedPath::new(VirtualRoot::Project, path).intern(),
            files,
        })
    }

    fn set(&self) -> Result<PagedDocument, String> {
        typst::compile::<PagedDocument>(self).output.map_err(|errors| self.told(&errors))
    }

    fn told(&self, errors: &[typst::diag::SourceDiagnostic]) -> String {
        let all: Vec<String> = errors
            .iter()
            .map(|e| {
                let at = typst::WorldExt::range(self, e.span).map_or(0, |r| r.start);
                let file = e.span.id().map_or(String::new(), |id| id.vpath().get_without_slash().to_owned());
                format!("{file}, byte {at}: {}", e.message)
            })
            .collect();
        all.join("; ")
    }
}

/// Sets the document that stands at `main`. `ident` names it for good.
///
/// # Errors
/// The template or its data cannot be set; the text says where.
pub(crate) fn pdf(files: Files, main: &str, ident: &str) -> Result<Vec<u8>, String> {
    let world = Memory::new(files, main)?;
    let document = world.set()?;
    let options = PdfOptions {
        ident: Smart::Custom(ident.to_owned()),
        creator: Smart::Custom(Some("Wattwright".to_owned())),
        ..PdfOptions::default()
    };
    typst_pdf::pdf(&document, &options).map_err(|errors| world.told(&errors))
}

/// The text of each page as it is set.
#[cfg(test)]
pub(crate) fn texts(files: Files, main: &str) -> Result<Vec<String>, String> {
    use typst::layout::{Frame, FrameItem};

    fn collect(frame: &Frame, out: &mut String) {
        for (_, item) in frame.items() {
            match item {
                FrameItem::Group(group) => collect(&group.frame, out),
                FrameItem::Text(text) => out.push_str(&text.text),
                _ => {}
            }
        }
    }
    let document = Memory::new(files, main)?.set()?;
    let mut pages = Vec::new();
    for page in document.pages() {
        let mut text = String::new();
        collect(&page.frame, &mut text);
        pages.push(text);
    }
    Ok(pages)
}
