//! What is told once of an output: the words of an enum, and the shape in which a field is written.

/// Defines an enum with `ALL`, `name` and its serialisation as that name.
macro_rules! words {
    ($(#[$meta:meta])+ pub enum $name:ident {
        $($(#[$doc:meta])+ $variant:ident = $word:literal,)+
    }) => {
        $(#[$meta])+
        pub enum $name {
            $($(#[$doc])+ $variant,)+
        }

        impl $name {
            /// All, in the order in which they are told.
            pub const ALL: [Self; [$($word),+].len()] = [$(Self::$variant),+];

            /// The word for it in outputs.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$variant => $word,)+
                }
            }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_str(self.name())
            }
        }
    };
}

/// Defines functions for `serialize_with`, each of a field whose JSON has another shape than it has:
/// `fn NAME(TYPE as PATTERN) = WHAT IS WRITTEN;`.
macro_rules! shapes {
    ($($(#[$meta:meta])* $vis:vis fn $name:ident($of:ty as $field:pat) = $shape:expr;)+) => {$(
        $(#[$meta])*
        $vis fn $name<S: serde::Serializer>($field: &$of, serializer: S) -> Result<S::Ok, S::Error> {
            serde::Serialize::serialize(&$shape, serializer)
        }
    )+};
}
