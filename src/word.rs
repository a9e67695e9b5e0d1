//! Enums whose variants have one word each, told once: for text, for JSON and for its schema.

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
