//! Getters of tables inside a table, and of lists of them.

use serde_json::{Value, json};
use toml::de::DeValue;

use super::{Inner, Section};

impl Section<'_> {
    /// A table, if there.
    pub fn section<T>(
        &self,
        key: &str,
        doc: &str,
        read: impl FnOnce(&Section<'_>) -> Option<T>,
    ) -> Option<T> {
        self.section_if(key, doc, false, read)
    }

    /// A table that must be there.
    pub fn need_section<T>(
        &self,
        key: &str,
        doc: &str,
        read: impl FnOnce(&Section<'_>) -> Option<T>,
    ) -> Option<T> {
        self.section_if(key, doc, true, read)
    }

    fn section_if<T>(
        &self,
        key: &str,
        doc: &str,
        needed: bool,
        read: impl FnOnce(&Section<'_>) -> Option<T>,
    ) -> Option<T> {
        if matches!(self.inner, Inner::Describing { .. }) {
            let inner = Section::describing();
            let _ = read(&inner);
            self.note(key, doc, needed, inner.described());
            return None;
        }
        let at = self.get(key, doc, needed, Value::Null)?;
        let DeValue::Table(table) = at.get_ref() else {
            self.wrong(key, at, &format!("a table: {doc}"));
            return None;
        };
        let Inner::Real { context, .. } = &self.inner else {
            return None;
        };
        let inner = Section::real(table, context.source.place(at.span()), self.path_to(key), context);
        let value = read(&inner);
        inner.finish();
        value
    }

    /// A list of tables (`[[key]]`); empty if not there. An entry that cannot be read is left out, with its
    /// mistakes reported.
    pub fn list<T>(&self, key: &str, doc: &str, mut read: impl FnMut(&Section<'_>) -> Option<T>) -> Vec<T> {
        if matches!(self.inner, Inner::Describing { .. }) {
            let inner = Section::describing();
            let _ = read(&inner);
            self.note(key, doc, false, json!({ "type": "array", "items": inner.described() }));
            return Vec::new();
        }
        let Some(at) = self.get(key, doc, false, Value::Null) else {
            return Vec::new();
        };
        let (DeValue::Array(items), Inner::Real { context, .. }) = (at.get_ref(), &self.inner) else {
            self.wrong(key, at, &format!("a list of tables: write [[{key}]]"));
            return Vec::new();
        };
        items
            .iter()
            .filter_map(|item| {
                let DeValue::Table(table) = item.get_ref() else {
                    self.wrong(key, item, "a table");
                    return None;
                };
                let place = context.source.place(item.span());
                let inner = Section::real(table, place, self.path_to(key), context);
                let value = read(&inner);
                inner.finish();
                value
            })
            .collect()
    }
}
