//! Tables whose keys are stated with the fields that they fill.

use super::key_kind::{Key, Quantity, Word};
use super::position::Position;
use super::table::Table;

/// A table of a job that is read as its keys state it.
pub(super) trait Stated: Sized {
    /// Its keys, in the order of the reference.
    const KEYS: &'static [Key];

    /// As the job has it; what is wrong is told.
    fn of(t: &Table<'_, '_>) -> Self;
}

/// What the value of a key can be.
pub(super) trait Held: Sized {
    /// The value of a key, or what holds without it.
    fn held(t: &Table<'_, '_>, key: &str) -> Self;
}

/// How each is read.
macro_rules! held {
    ($($kind:ty: |$t:ident, $key:ident| $read:expr;)+) => {$(
        impl Held for $kind {
            fn held($t: &Table<'_, '_>, $key: &str) -> Self {
                $read
            }
        }
    )+};
}

held! {
    f64: |t, key| t.figure(key);
    Option<f64>: |t, key| t.maybe(key);
    bool: |t, key| t.flag(key);
    usize: |t, key| t.count(key).unwrap_or_default();
    String: |t, key| match t.key(key).map(|k| k.quantity) {
        Some(Quantity::Alloy) => t.alloy(key).unwrap_or_default(),
        Some(Quantity::Path) => t.path(key).unwrap_or_default(),
        _ => t.text(key).unwrap_or_default(),
    };
    Vec<String>: |t, key| t.texts(key).unwrap_or_default();
    Position: |t, key| t.position(key);
    Vec<Position>: |t, key| t.positions(key);
}

impl<T: Word> Held for T {
    fn held(t: &Table<'_, '_>, key: &str) -> Self {
        t.chosen(key)
    }
}

impl<T: Stated> Held for Option<T> {
    fn held(t: &Table<'_, '_>, key: &str) -> Self {
        let table = t.table(key);
        table.present().then(|| T::of(&table))
    }
}

/// A table of a job. Each line is a field and its key: quantity, what holds without it,
/// meaning, and how it is read if not as its type is. After `&` stand further keys that
/// the reading of the field above takes in, after `+` fields that are no key.
macro_rules! table {
    ($($(#[$of:meta])* pub struct $name:ident {
        $(
            $(#[$and:meta])* $field:ident $(as $key:literal)?: $kind:ty = $quantity:expr, $absent:expr, $meaning:literal $(, $read:expr)?;
            $(& $further:ident = $its:expr, $without:expr, $is:literal;)*
        )+
        $(+ $more:ident: $held:ty = $about:literal, $from:expr;)*
    })+) => {$(
        $(#[$of])*
        pub struct $name {
            $(#[doc = $meaning] $(#[$and])* pub $field: $kind,)+
            $(#[doc = $about] pub $more: $held,)*
        }

        impl $crate::job::stated::Stated for $name {
            const KEYS: &'static [$crate::job::key_kind::Key] = &[$(
                $crate::job::key_kind::key(
                    $crate::job::stated::table!(@name $field $($key)?), $quantity, $absent, $meaning,
                ),
                $($crate::job::key_kind::key(stringify!($further), $its, $without, $is),)*
            )+];

            fn of(t: &$crate::job::table::Table<'_, '_>) -> Self {
                Self {
                    $($field: {
                        let read: fn(&$crate::job::table::Table<'_, '_>, &str) -> $kind =
                            $crate::job::stated::table!(@read $($read)?);
                        read(t, $crate::job::stated::table!(@name $field $($key)?))
                    },)+
                    $($more: {
                        let read: fn(&$crate::job::table::Table<'_, '_>) -> $held = $from;
                        read(t)
                    },)*
                }
            }
        }
    )+};
    (@name $field:ident) => { stringify!($field) };
    (@name $field:ident $key:literal) => { $key };
    (@read) => { $crate::job::stated::Held::held };
    (@read $read:expr) => { $read };
}
pub(super) use table;
