//! From the text of a length to millimetres.

use super::notation::booked;
use super::unit::{FOOT, INCH, Unit};
use crate::fault::{Kind, Refused};

/// Mend of a length that lacks its unit.
pub const WITH_UNIT: &str =
    "write the length with its unit, such as \"12.7 mm\", \"1/2 in\" or \"5 ft 3 1/2 in\"";

/// A unit as written beside a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mark {
    Mm,
    Cm,
    M,
    Inch,
    Foot,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Token {
    /// A decimal number without sign; true where it is whole.
    Number(f64, bool),
    Slash,
    Dash,
    Plus,
    Mark(Mark),
}

/// A length that carries its unit, or is booked as feet-inches-eighths: three
/// whole numbers say it as plainly.
pub(super) fn with_unit(text: &str) -> Result<f64, Refused> {
    if let Some(value) = eighths(text)
        && text.matches(['-', '\u{2212}']).count() > 1
    {
        return value;
    }
    let (sign, mut scan) = Scan::start(text)?;
    Ok(sign * scan.measure()?)
}

/// A cell of a table under its unit.
pub(super) fn cell(text: &str, unit: Unit) -> Result<f64, Refused> {
    if unit == Unit::FeetInchesEighths
        && let Some(value) = eighths(text)
    {
        return value;
    }
    let (sign, mut scan) = Scan::start(text)?;
    if scan.tokens.iter().any(|t| matches!(t, Token::Mark(_))) {
        return Ok(sign * scan.measure()?);
    }
    let fraction = scan.tokens.contains(&Token::Slash);
    let value = scan.mixed()?;
    scan.end()?;
    if fraction && matches!(unit, Unit::Mm | Unit::M) {
        let what = format!("`{}` is a fraction in a metric table", text.trim());
        let mend = "write metric lengths as decimals, or give the cell its own unit";
        return Err(Refused::new(Kind::Syntax, what, mend));
    }
    match unit.mm() {
        Some(mm) => Ok(sign * value * mm),
        None if value > 0.0 => {
            let as_booked = |mm: f64| booked(sign * value * mm, unit);
            let what = format!(
                "`{}` does not say feet or inches, in a table of {}",
                text.trim(),
                unit.name()
            );
            let mend = format!(
                "write {}, if these are feet, or {}, if they are inches",
                as_booked(FOOT),
                as_booked(INCH)
            );
            Err(Refused::new(Kind::Unit, what, mend))
        }
        None => Ok(0.0),
    }
}

/// Feet-inches-eighths; `None` where the text is of another form.
fn eighths(text: &str) -> Option<Result<f64, Refused>> {
    let whole = text.trim().replace('\u{2212}', "-");
    let (sign, rest) = match whole.strip_prefix('-') {
        Some(rest) => (-1.0, rest),
        None => (1.0, whole.as_str()),
    };
    let (sixteenth, rest) = match (rest.strip_suffix('+'), rest.strip_suffix('-')) {
        (Some(rest), _) => (1.0, rest),
        (None, Some(rest)) => (-1.0, rest),
        (None, None) => (0.0, rest),
    };
    let parts: Vec<&str> = rest.split('-').map(str::trim).collect();
    let whole_number = |s: &&str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    if parts.len() < 2 || !parts.iter().all(whole_number) {
        return None;
    }
    let bad = |what: String, mend: &str| Some(Err(Refused::new(Kind::Syntax, what, mend)));
    let figures: Vec<f64> = parts.iter().filter_map(|p| p.parse().ok()).collect();
    let [feet, inches, eighth] = figures[..] else {
        return bad(
            format!(
                "`{}` is not feet-inches-eighths: it has {} numbers, not 3",
                text.trim(),
                parts.len()
            ),
            "write feet, inches and eighths, such as 2-3-4 for 2 ft 3 4/8 in",
        );
    };
    if inches >= 12.0 {
        return bad(
            format!("`{}` has {inches} inches after feet", text.trim()),
            "inches after feet stay below 12",
        );
    }
    if eighth >= 8.0 {
        return bad(
            format!("`{}` has {eighth} eighths", text.trim()),
            "eighths stay below 8",
        );
    }
    let inch = inches + eighth / 8.0 + sixteenth / 16.0;
    Some(Ok(sign * (feet * FOOT + inch * INCH)))
}

struct Scan<'a> {
    text: &'a str,
    tokens: Vec<Token>,
    next: usize,
}

impl<'a> Scan<'a> {
    /// Splits a text into tokens and takes off its sign.
    fn start(text: &'a str) -> Result<(f64, Self), Refused> {
        let text = text.trim();
        if text.is_empty() {
            let what = "there is no length here";
            return Err(Refused::new(Kind::Syntax, what, WITH_UNIT));
        }
        let mut scan = Self {
            text,
            tokens: tokens(text)?,
            next: 0,
        };
        let sign = match scan.peek() {
            Some(Token::Dash) => -1.0,
            Some(Token::Plus) => 1.0,
            _ => return Ok((1.0, scan)),
        };
        scan.next = 1;
        Ok((sign, scan))
    }

    fn peek(&self) -> Option<Token> {
        self.tokens.get(self.next).copied()
    }

    fn take(&mut self) -> Option<Token> {
        let token = self.peek();
        self.next += 1;
        token
    }

    fn bad(&self, why: &str, mend: &str) -> Refused {
        Refused::new(Kind::Syntax, format!("`{}` {why}", self.text), mend)
    }

    fn end(&self) -> Result<(), Refused> {
        if self.next >= self.tokens.len() {
            return Ok(());
        }
        Err(self.bad("does not read as one length", WITH_UNIT))
    }

    /// A number with its unit, or feet and inches, to the end of the text.
    fn measure(&mut self) -> Result<f64, Refused> {
        let decimal = matches!(self.tokens.get(self.next + 1), Some(Token::Mark(_)));
        let value = self.mixed()?;
        let mark = match self.take() {
            Some(Token::Mark(mark)) => mark,
            None => {
                let what = format!("`{}` has no unit", self.text);
                return Err(Refused::new(Kind::Unit, what, WITH_UNIT));
            }
            Some(_) => return Err(self.bad("does not read as one length", WITH_UNIT)),
        };
        let metric = |mm: f64| {
            if decimal {
                Ok(value * mm)
            } else {
                Err(self.bad(
                    "is a fraction of a metric unit",
                    "write metric lengths as decimals",
                ))
            }
        };
        let mm = match mark {
            Mark::Mm => metric(1.0)?,
            Mark::Cm => metric(10.0)?,
            Mark::M => metric(1000.0)?,
            Mark::Inch => value * INCH,
            Mark::Foot => value * FOOT + self.inches_after(value)? * INCH,
        };
        self.end()?;
        Ok(mm)
    }

    /// Inches after feet, with their mark; nought where the text ends.
    fn inches_after(&mut self, feet: f64) -> Result<f64, Refused> {
        if self.peek().is_none() {
            return Ok(0.0);
        }
        if feet.fract() > 0.0 {
            return Err(self.bad(
                "has inches after a fraction of a foot",
                "write whole feet before inches",
            ));
        }
        if self.peek() == Some(Token::Dash) {
            self.next += 1;
        }
        let inches = self.mixed()?;
        if self.take() != Some(Token::Mark(Mark::Inch)) {
            let what = format!("`{}` does not mark its inches", self.text);
            let mend = "end the length with `in` or \"";
            return Err(Refused::new(Kind::Unit, what, mend));
        }
        if inches >= 12.0 {
            return Err(self.bad(
                "has 12 inches or more after feet",
                "inches after feet stay below 12",
            ));
        }
        Ok(inches)
    }

    /// A decimal, a fraction, or a whole number and a fraction.
    fn mixed(&mut self) -> Result<f64, Refused> {
        let Some(Token::Number(first, whole)) = self.take() else {
            return Err(self.bad("does not begin with a number", WITH_UNIT));
        };
        if self.peek() == Some(Token::Slash) {
            return Ok(self.fraction(first, whole)?.0);
        }
        let ahead = |k: usize| self.tokens.get(self.next + k);
        let dash = usize::from(ahead(0) == Some(&Token::Dash));
        let (Some(&Token::Number(over, over_whole)), Some(Token::Slash)) =
            (ahead(dash), ahead(dash + 1))
        else {
            return Ok(first);
        };
        if !whole {
            return Err(self.bad(
                "has a fraction after a decimal",
                "write a decimal or a fraction, not both",
            ));
        }
        self.next += dash + 1;
        let (part, proper) = self.fraction(over, over_whole)?;
        if proper {
            Ok(first + part)
        } else {
            Err(self.bad(
                "has a fraction of 1 or more after a whole number",
                "write the fraction below 1, such as 1 3/4",
            ))
        }
    }

    /// The rest of a fraction, from its stroke on; and whether it is below 1.
    fn fraction(&mut self, over: f64, whole: bool) -> Result<(f64, bool), Refused> {
        let mend = "write a fraction as two whole numbers, such as 3/4";
        self.next += 1;
        let Some(Token::Number(under, under_whole)) = self.take() else {
            return Err(self.bad("has a fraction without a denominator", mend));
        };
        if !whole || !under_whole {
            return Err(self.bad("has a fraction of decimals", mend));
        }
        if under <= 0.0 {
            return Err(self.bad("has a fraction with denominator 0", mend));
        }
        Ok((over / under, over < under))
    }
}

fn tokens(text: &str) -> Result<Vec<Token>, Refused> {
    let mut out = Vec::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let run = |want: fn(char) -> bool| rest.find(|c| !want(c)).unwrap_or(rest.len());
        let used = match c {
            c if c.is_whitespace() => c.len_utf8(),
            '0'..='9' | '.' => {
                let n = run(|c| c.is_ascii_digit() || c == '.');
                let digits = &rest[..n];
                let value: f64 = digits.parse().map_err(|_| {
                    let what = format!("`{text}`: `{digits}` is not a number");
                    let mend = "write a number with one decimal point, such as 12.7";
                    Refused::new(Kind::Syntax, what, mend)
                })?;
                out.push(Token::Number(value, !digits.contains('.')));
                n
            }
            'a'..='z' | 'A'..='Z' => {
                let n = run(|c| c.is_ascii_alphabetic());
                out.push(Token::Mark(word(text, &rest[..n])?));
                n + usize::from(rest[n..].starts_with('.'))
            }
            _ => {
                match vulgar(c) {
                    Some((over, under)) => out.extend([
                        Token::Number(over, true),
                        Token::Slash,
                        Token::Number(under, true),
                    ]),
                    None => out.push(symbol(text, c)?),
                }
                c.len_utf8()
            }
        };
        rest = &rest[used..];
    }
    Ok(out)
}

/// A fraction of one character, over and under its stroke.
fn vulgar(c: char) -> Option<(f64, f64)> {
    match c {
        '\u{bd}' => Some((1.0, 2.0)),
        '\u{bc}' => Some((1.0, 4.0)),
        '\u{be}' => Some((3.0, 4.0)),
        '\u{215b}' => Some((1.0, 8.0)),
        '\u{215c}' => Some((3.0, 8.0)),
        '\u{215d}' => Some((5.0, 8.0)),
        '\u{215e}' => Some((7.0, 8.0)),
        _ => None,
    }
}

fn word(text: &str, word: &str) -> Result<Mark, Refused> {
    let wrong = |kind, why: &str, mend: &str| {
        let what = format!("`{text}`: `{word}` {why}");
        Err(Refused::new(kind, what, mend))
    };
    match word.to_ascii_lowercase().as_str() {
        "mm" => Ok(Mark::Mm),
        "cm" => Ok(Mark::Cm),
        "m" => Ok(Mark::M),
        "in" | "inch" | "inches" => Ok(Mark::Inch),
        "ft" | "foot" | "feet" => Ok(Mark::Foot),
        "nan" | "inf" | "infinity" => wrong(
            Kind::Range,
            "is not a finite number",
            "write the measured figure",
        ),
        "e" => wrong(
            Kind::Syntax,
            "is an exponent",
            "write the number out in full, such as 1200",
        ),
        _ => wrong(
            Kind::Syntax,
            "is not a unit of length",
            "use mm, cm, m, in or ft",
        ),
    }
}

fn symbol(text: &str, c: char) -> Result<Token, Refused> {
    match c {
        '/' | '\u{2044}' => Ok(Token::Slash),
        '-' | '\u{2212}' | '\u{2013}' => Ok(Token::Dash),
        '+' => Ok(Token::Plus),
        '\'' | '\u{2019}' | '\u{2032}' => Ok(Token::Mark(Mark::Foot)),
        '"' | '\u{201d}' | '\u{2033}' => Ok(Token::Mark(Mark::Inch)),
        ',' => Err(Refused::new(
            Kind::Syntax,
            format!("`{text}` has a comma"),
            "write a point for decimals, and no mark between thousands",
        )),
        _ => Err(Refused::new(
            Kind::Syntax,
            format!("`{text}`: `{c}` has no place in a length"),
            WITH_UNIT,
        )),
    }
}
