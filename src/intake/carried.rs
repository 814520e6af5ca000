//! Facts that are only kept and shown: owners look for them beside the plan, and nothing here reads them.

use super::table::Row;
use crate::programme::sources::FieldInfo;

/// What a row says in the carried fields of one kind of list: "voltage: 11 kV; span: 52"; `None` where it says nothing.
pub(super) fn also(row: Row<'_>, of: impl Fn(&FieldInfo) -> bool) -> Option<String> {
    let carried = row.bound.carried().iter().filter(|info| of(info));
    let told: Vec<String> = carried
        .filter_map(|info| {
            let text = row.text(info.field)?;
            Some(format!("{}: {text}", info.name.replace('_', " ")))
        })
        .collect();
    (!told.is_empty()).then(|| told.join("; "))
}
