//! Code pairs as they are written, and handles.

/// Puts one code pair: a code on one line, its value on the next.
pub(super) fn put(out: &mut String, code: i32, value: &str) {
    for wider in [100, 10] {
        if code < wider {
            out.push(' ');
        }
    }
    out.push_str(&code.to_string());
    out.push_str("\r\n");
    out.push_str(value);
    out.push_str("\r\n");
}

/// Handles, none given twice.
#[derive(Default)]
pub(super) struct Handles(u64);

impl Handles {
    pub(super) fn next(&mut self) -> String {
        self.0 += 1;
        format!("{:X}", self.0)
    }
}
