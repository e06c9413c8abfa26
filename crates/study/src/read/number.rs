//! Plain decimals to `f64`, exactly, eight characters at a time.
//!
//! A decimal of at most fifteen digits is a whole number below 2⁵³ divided by a power of ten of at
//! most 10²²; both are exact in `f64`, and one division rounds correctly (W. D. Clinger, How to read
//! floating point numbers accurately, 1990). Everything else goes to the standard library.
//!
//! Must not know: columns, units.

/// The most characters that a number can have here.
const LONGEST: usize = 16;

const TENS: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];

const fn each(byte: u8) -> u64 {
    u64::from_le_bytes([byte; 8])
}

/// The number at the start of a text and how many characters it takes. `None` if it is not plain:
/// nothing there, an exponent, more than fifteen digits, other characters than ASCII near. What
/// follows the number is for the caller to look at.
#[inline(always)]
pub(crate) fn plain(text: &[u8], mark: u8) -> Option<(f64, usize)> {
    let word = u64::from_le_bytes(*text.first_chunk()?);
    if let Some(found) = within_eight(word, mark) {
        return Some(found);
    }
    longer(text, mark)
}

/// A number without sign that ends within eight characters.
#[inline(always)]
fn within_eight(word: u64, mark: u8) -> Option<(f64, usize)> {
    if word & each(0x80) != 0 {
        return None;
    }
    // The high bit of each byte that is no digit: 0…9 after the exclusive or, and no byte carries
    // into the next since all are ASCII.
    let other = ((word ^ each(b'0')) + each(0x76)) & each(0x80);
    let first = (other.trailing_zeros() / 8) as usize;
    if first >= 8 {
        return None;
    }
    let shift = 8 * first as u32;
    let (digits, places, length, count) = if (word >> shift) as u8 == mark {
        let rest = other & (other - 1);
        let second = (rest.trailing_zeros() / 8) as usize;
        if second >= 8 {
            return None;
        }
        // Takes the mark out: what stands before it stays, what follows moves down by one.
        let before = (1_u64 << shift) - 1;
        let joined = (word & before) | ((word >> 8) & !before);
        (joined, second - first - 1, second, second - 1)
    } else {
        (word, 0, first, first)
    };
    if count == 0 {
        return None;
    }
    // The digits to the upper end; zeros come in below, which are leading zeros of the number.
    let aligned = digits << (64 - 8 * count as u32);
    let number = eight_digits(aligned);
    let value = number as f64;
    let value = if places == 0 {
        value
    } else {
        value / *TENS.get(places)?
    };
    Some((value, length))
}

/// The value of eight digits, the first in the lowest byte; zero bytes count as the digit 0.
#[inline(always)]
fn eight_digits(word: u64) -> u64 {
    let pairs = (word & each(0x0F)).wrapping_mul(10 * 256 + 1) >> 8;
    let fours = (pairs & 0x00FF_00FF_00FF_00FF).wrapping_mul(100 * 65_536 + 1) >> 16;
    (fours & 0x0000_FFFF_0000_FFFF).wrapping_mul(10_000 * 4_294_967_296 + 1) >> 32
}

/// A number with a sign, or of more than seven characters.
#[inline(never)]
fn longer(text: &[u8], mark: u8) -> Option<(f64, usize)> {
    let negative = text.first() == Some(&b'-');
    let start = usize::from(negative);
    let (mut number, mut digits, mut point) = (0_u64, 0_usize, None);
    let mut at = start;
    while let Some(&byte) = text.get(at) {
        if byte.is_ascii_digit() {
            number = number * 10 + u64::from(byte - b'0');
            digits += 1;
        } else if byte == mark && point.is_none() {
            point = Some(at);
        } else {
            break;
        }
        if digits > 15 || at > start + LONGEST {
            return None;
        }
        at += 1;
    }
    if digits == 0 {
        return None;
    }
    let places = point.map_or(0, |point| at - point - 1);
    let value = number as f64 / *TENS.get(places)?;
    Some((if negative { -value } else { value }, at))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn padded(text: &str) -> Vec<u8> {
        let mut bytes = text.as_bytes().to_vec();
        bytes.extend_from_slice(b",\n      ");
        bytes
    }

    #[test]
    fn plain_decimals() {
        for text in [
            "0",
            "7",
            "33.4",
            "7.12",
            "-5.25",
            "1013.25",
            "0.001",
            "1234567",
            "12345678",
            "123456789012345",
            "-0.0",
            "5.",
            ".5",
            "0000.10",
            "999999.9",
            "-123456.789012",
        ] {
            let (value, length) = plain(&padded(text), b'.').expect("a plain decimal");
            assert_eq!(length, text.len(), "{text}");
            let right: f64 = text.parse().expect("a decimal");
            assert_eq!(value.to_bits(), right.to_bits(), "{text}");
        }
    }

    #[test]
    fn what_is_not_plain_is_left_to_others() {
        for text in [
            "",
            "-",
            ".",
            "x",
            "1234567890123456",
            "\u{b5}",
            "+3",
            "-.",
            " 1",
        ] {
            assert_eq!(plain(&padded(text), b'.'), None, "{text}");
        }
        // What follows is for the caller: an exponent, a second mark.
        assert_eq!(plain(&padded("1e5"), b'.'), Some((1.0, 1)));
        assert_eq!(plain(&padded("1.2.3"), b'.'), Some((1.2, 3)));
        assert_eq!(plain(&padded("7,5"), b','), Some((7.5, 3)));
    }

    proptest! {
        #[test]
        fn the_same_as_the_standard_library(
            sign in "-?", whole in "[0-9]{0,9}", part in "[0-9]{0,6}", after in "[,;\t\r\n\"x]"
        ) {
            let text = if part.is_empty() { format!("{sign}{whole}") } else { format!("{sign}{whole}.{part}") };
            let mut bytes = text.as_bytes().to_vec();
            bytes.extend_from_slice(after.as_bytes());
            bytes.extend_from_slice(b"12345678");
            match (text.parse::<f64>(), plain(&bytes, b'.')) {
                (Ok(right), Some((value, length))) => {
                    prop_assert_eq!(length, text.len());
                    prop_assert_eq!(value.to_bits(), right.to_bits());
                }
                (Err(_), None) => {}
                (right, found) => prop_assert!(false, "{:?}: {:?} and {:?}", text, right, found),
            }
        }
    }
}
