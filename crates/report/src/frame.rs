//! How wide a picture is drawn: once for a desk and for paper, once for a phone, so that words keep
//! their size on both and nothing has to be pushed aside.
//!
//! Must not know: what is drawn.

use crate::html::Html;

/// The paper of a picture and its margins, px.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Frame {
    pub(crate) paper: f64,
    pub(crate) left: f64,
    pub(crate) right: f64,
    /// Sets the names inside apart from those of the same picture on the other paper.
    pub(crate) mark: &'static str,
}

/// For a desk and for paper.
pub(crate) const BROAD: Frame = Frame {
    paper: 820.0,
    left: 74.0,
    right: 18.0,
    mark: "",
};

/// For a phone held upright: its screen is hardly wider, so words stay as large as they are written.
pub(crate) const NARROW: Frame = Frame {
    paper: 340.0,
    left: 46.0,
    right: 10.0,
    mark: "-narrow",
};

impl Frame {
    /// Where the drawing ends at the right.
    pub(crate) fn end(&self) -> f64 {
        self.paper - self.right
    }

    /// Room for the drawing.
    pub(crate) fn room(&self) -> f64 {
        self.end() - self.left
    }

    /// Where a share of the way from left to right lies.
    pub(crate) fn across(&self, share: f64) -> f64 {
        self.left + share.clamp(0.0, 1.0) * self.room()
    }

    /// Whether it is the phone's.
    pub(crate) fn is_narrow(&self) -> bool {
        !self.mark.is_empty()
    }
}

/// A picture on both papers; the style sheet shows the one that fits.
pub(crate) fn both(h: &mut Html, draw: impl Fn(&Frame) -> Option<String>) {
    for (class, frame) in [("broad", BROAD), ("narrow", NARROW)] {
        if let Some(svg) = draw(&frame) {
            h.el("div", &[("class", class)], |h| h.own(&svg));
        }
    }
}
