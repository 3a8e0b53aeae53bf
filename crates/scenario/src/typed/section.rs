//! The macros that declare sections and choices.

/// Declares a section: the struct, how it is read, and its description.
///
/// Each key is its doc comment, one word for what happens when it is left out, name, type and texts:
/// - `required key: T = "example";` must be there; of a section, the text is the keys to begin it with;
/// - `default key: T = "value";` has this value;
/// - `optional key: T = "example", "what holds without it";`
/// - `list key: T;` any number of them, also none;
/// - `section key: T;` counts as an empty section.
macro_rules! section {
    (
        $(#[doc = $doc:literal])+
        $name:ident {
            $($(#[doc = $field_doc:literal])+ $presence:ident $field:ident: $type:ty $(= $text:literal $(, $otherwise:literal)?)?;)+
        }
    ) => {
        $(#[doc = $doc])+
        #[derive(Clone, Debug)]
        pub(crate) struct $name {
            $($(#[doc = $field_doc])+ pub(crate) $field: crate::typed::presence!(@type $presence $type),)+
        }

        impl $name {
            /// The keys and their meaning.
            pub(crate) const SECTION: &'static crate::typed::Section = &crate::typed::Section {
                doc: concat!($($doc, "\n"),+),
                fields: &[$(crate::typed::Field {
                    name: stringify!($field),
                    doc: concat!($($field_doc),+),
                    presence: crate::typed::presence!(@presence $presence $($text $(, $otherwise)?)?),
                    shape: crate::typed::presence!(@shape $presence $type),
                }),+],
            };
        }

        impl crate::typed::Typed for $name {
            fn shape() -> crate::typed::Shape {
                crate::typed::Shape::Section(Self::SECTION)
            }

            fn read(
                node: &crate::tree::Node,
                field: &crate::typed::Field,
                reader: &mut crate::typed::Reader<'_>,
            ) -> Option<Self> {
                let table = reader.section(node, field)?;
                reader.refuse_unknown_keys(table, field, Self::SECTION);
                let mut fields = Self::SECTION.fields.iter();
                // Every key is read before any missing one ends the reading.
                $(let $field = crate::typed::presence!(@read $presence $type, reader, table, fields.next()?);)+
                Some(Self { $($field: $field?,)+ })
            }
        }
    };
}

/// What each word of a key in `section!` stands for.
macro_rules! presence {
    (@type required $type:ty) => { crate::typed::At<$type> };
    (@type default $type:ty) => { crate::typed::At<$type> };
    (@type optional $type:ty) => { Option<crate::typed::At<$type>> };
    (@type list $type:ty) => { Vec<$type> };
    (@type section $type:ty) => { $type };
    (@presence required $example:literal) => { crate::typed::Presence::Required { example: $example } };
    (@presence default $text:literal) => { crate::typed::Presence::Default { text: $text } };
    (@presence optional $example:literal, $otherwise:literal) => {
        crate::typed::Presence::Optional { example: $example, otherwise: $otherwise }
    };
    (@presence list) => { crate::typed::Presence::Empty };
    (@presence section) => { crate::typed::Presence::Empty };
    (@shape list $type:ty) => { <Vec<$type> as crate::typed::Typed>::shape };
    (@shape $presence:ident $type:ty) => { <$type as crate::typed::Typed>::shape };
    (@read required $type:ty, $reader:ident, $table:ident, $field:expr) => { $reader.required::<$type>($table, $field) };
    (@read default $type:ty, $reader:ident, $table:ident, $field:expr) => { $reader.defaulted::<$type>($table, $field) };
    (@read optional $type:ty, $reader:ident, $table:ident, $field:expr) => { $reader.optional::<$type>($table, $field) };
    (@read list $type:ty, $reader:ident, $table:ident, $field:expr) => { $reader.list::<$type>($table, $field) };
    (@read section $type:ty, $reader:ident, $table:ident, $field:expr) => { $reader.empty_section::<$type>($table, $field) };
}

/// Declares a choice among words.
macro_rules! choice {
    ($(#[doc = $doc:literal])+ $name:ident { $($(#[doc = $word_doc:literal])+ $variant:ident = $word:literal,)+ }) => {
        $(#[doc = $doc])+
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub(crate) enum $name {
            $($(#[doc = $word_doc])+ $variant,)+
        }

        impl crate::typed::Typed for $name {
            fn shape() -> crate::typed::Shape {
                crate::typed::Shape::Choice(&[$($word),+])
            }

            fn read(
                node: &crate::tree::Node,
                field: &crate::typed::Field,
                reader: &mut crate::typed::Reader<'_>,
            ) -> Option<Self> {
                let words = [$($word),+];
                let variants = [$(Self::$variant),+];
                variants.get(reader.word(node, field, &words)?).copied()
            }
        }
    };
}

pub(crate) use {choice, presence, section};
