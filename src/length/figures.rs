//! Numbers as every file has them.

/// The one number formatter: fixed decimals, never `-0`, never an exponent.
/// Every writer uses it, so the same job gives the same bytes. A number that
/// is not finite never reaches a writer.
#[must_use]
pub fn number(value: f64, decimals: usize) -> String {
    if let Some(text) = whole_figures(value, decimals) {
        return text;
    }
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| b == b'0' || b == b'.') => rest.to_owned(),
        _ => text,
    }
}

/// The same text through a whole number, several times faster; `None` where the
/// product with the power of ten could round to the wrong side: too large for
/// a double to hold to a thousandth, or within a thousandth of a tie.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "from nought to 2^42, and single figures"
)]
fn whole_figures(value: f64, decimals: usize) -> Option<String> {
    /// 2^42: a product below has a spacing of at most 2^-11, half of a
    /// thousandth, and is itself off by at most half that spacing.
    const LARGEST: f64 = 4_398_046_511_104.0;
    const POWERS: [f64; 10] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9];
    let scaled = value.abs() * POWERS.get(decimals)?;
    let tie = (scaled - scaled.floor() - 0.5).abs() < 1e-3;
    if tie || scaled.is_nan() || scaled >= LARGEST {
        return None;
    }
    let mut rest = scaled.round() as u64;
    let negative = value < 0.0 && rest > 0;
    // Sign, thirteen figures at most, a point and noughts before the first figure.
    let mut text = [0_u8; 32];
    let mut at = text.len();
    let mut count = 0;
    while rest > 0 || count <= decimals {
        if count == decimals && decimals > 0 {
            at -= 1;
            text[at] = b'.';
        }
        at -= 1;
        text[at] = b'0' + (rest % 10) as u8;
        rest /= 10;
        count += 1;
    }
    if negative {
        at -= 1;
        text[at] = b'-';
    }
    String::from_utf8(text[at..].to_vec()).ok()
}

/// As [`number`], without the zeros that end a fraction.
#[must_use]
pub fn trimmed(value: f64, decimals: usize) -> String {
    let text = number(value, decimals);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A figure as it stands, for a message beside the limit that it breaks:
/// rounded, the two could read the same.
#[must_use]
pub fn unrounded(value: f64) -> String {
    let text = trimmed(value, 9);
    let same = |v: f64| (v - value).abs() <= 1e-12 * value.abs();
    if value.abs() < 1e15 && text.parse().is_ok_and(same) {
        text
    } else if value.abs() >= 1e-6 && value.abs() < 1e15 {
        format!("{value}")
    } else {
        format!("{value:e}")
    }
}
