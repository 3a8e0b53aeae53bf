//! Keys that belong to some kinds of a section only.

use crate::diagnostic::Diagnostic;
use crate::source::Stretch;
use crate::typed::Reader;

/// A section of a kind: `what` is its name with an article.
pub(super) struct Kind {
    pub(super) what: &'static str,
    pub(super) word: &'static str,
    pub(super) place: Stretch,
}

/// Tells of keys that are given but belong to other kinds: a key, where it stands, and the kinds it is for.
pub(super) fn refuse_foreign(
    kind: &Kind,
    keys: &[(&str, Option<Stretch>, &[&'static str])],
    reader: &mut Reader<'_>,
) -> bool {
    let mut foreign = false;
    for (key, place, kinds) in keys {
        let Some(place) = place.filter(|_| !kinds.contains(&kind.word)) else { continue };
        foreign = true;
        let kinds: Vec<_> = kinds.iter().map(|kind| format!("\"{kind}\"")).collect();
        reader.tell(
            Diagnostic::error(format!("`{key}` does not belong to {} of kind \"{}\"", kind.what, kind.word))
                .at(place, format!("for {} only", kinds.join(", ")))
                .at(kind.place, "the kind")
                .help(format!("leave `{key}` out, or change the kind")),
        );
    }
    foreign
}
