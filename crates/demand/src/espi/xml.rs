//! Small questions to the tree of an Atom feed.

use roxmltree::Node;

/// Elements with a name at any depth, whatever their prefix.
pub(super) fn named<'d>(node: Node<'d, 'd>, name: &str) -> Vec<Node<'d, 'd>> {
    node.descendants().filter(|n| n.is_element() && n.tag_name().name() == name).collect()
}

/// Elements with a name directly inside.
pub(super) fn children<'d>(node: Node<'d, 'd>, name: &str) -> Vec<Node<'d, 'd>> {
    node.children().filter(|n| n.is_element() && n.tag_name().name() == name).collect()
}

/// Text of the first element with a name directly inside.
pub(super) fn text_of(node: Node<'_, '_>, name: &str) -> Option<String> {
    let child = node.children().find(|n| n.is_element() && n.tag_name().name() == name)?;
    Some(child.text().unwrap_or("").trim().to_owned())
}

/// The Atom entry that holds an element.
fn entry<'d>(node: Node<'d, 'd>) -> Option<Node<'d, 'd>> {
    node.ancestors().find(|n| n.is_element() && n.tag_name().name() == "entry")
}

/// Targets of the links of an element's entry, by what they are to it.
pub(super) fn links(node: Node<'_, '_>, rel: &str) -> Vec<String> {
    let all = entry(node).map(|e| children(e, "link")).unwrap_or_default();
    let wanted = all.into_iter().filter(|link| link.attribute("rel") == Some(rel));
    wanted.filter_map(|link| link.attribute("href").map(|href| href.trim().to_owned())).collect()
}

/// The first of them.
pub(super) fn link(node: Node<'_, '_>, rel: &str) -> Option<String> {
    links(node, rel).into_iter().next()
}

/// Title of an element's entry, for people.
pub(super) fn title(node: Node<'_, '_>) -> String {
    let title = entry(node).and_then(|e| text_of(e, "title")).filter(|title| !title.is_empty());
    title.map_or_else(|| "one without title".to_owned(), |title| format!("\"{title}\""))
}
