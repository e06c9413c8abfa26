//! Finds room for words beside a mark: clear of other words, and of lines where it can be.
//!
//! Must not know: what the words say.

/// Words farther from their mark than this are not read as its words, px.
const FARTHEST_PX: f64 = 100.0;

/// Words never hide more of the drawn lines than this, px.
const HIDDEN_PX: f64 = 40.0;

/// An area on the paper, px.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Rect {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) w: f64,
    pub(crate) h: f64,
}

impl Rect {
    /// The area common to both, px².
    pub(crate) fn common(&self, other: &Rect) -> f64 {
        let w = (self.x + self.w).min(other.x + other.w) - self.x.max(other.x);
        let h = (self.y + self.h).min(other.y + other.h) - self.y.max(other.y);
        w.max(0.0) * h.max(0.0)
    }

    /// Whether a point lies inside.
    fn holds(&self, (x, y): (f64, f64)) -> bool {
        (self.x..=self.x + self.w).contains(&x) && (self.y..=self.y + self.h).contains(&y)
    }

    /// Length of a straight line inside the area, px, sampled.
    fn crossed(&self, (a, b): ((f64, f64), (f64, f64))) -> f64 {
        let length = (b.0 - a.0).hypot(b.1 - a.1);
        let steps = (length / 3.0).ceil().clamp(1.0, 2000.0) as usize;
        let inside = (0..=steps)
            .filter(|i| {
                let s = *i as f64 / steps as f64;
                let (x, y) = (a.0 + s * (b.0 - a.0), a.1 + s * (b.1 - a.1));
                self.holds((x, y))
            })
            .count();
        inside as f64 * length / steps as f64
    }
}

/// What already stands on the paper of one panel.
#[derive(Debug, Clone)]
pub(crate) struct Room {
    /// Words must stay in here.
    pub(crate) panel: Rect,
    /// Words and marks: must stay clear.
    pub(crate) taken: Vec<Rect>,
    /// Drawn lines: should stay clear.
    pub(crate) lines: Vec<((f64, f64), (f64, f64))>,
    /// Thin lines from words back to their marks: must stay clear.
    pub(crate) leads: Vec<((f64, f64), (f64, f64))>,
}

impl Room {
    /// A place for words of this size near one of some points, the earlier ones rather, and takes it;
    /// also says near which. `None` if there is none.
    pub(crate) fn find_near_one(
        &mut self,
        points: &[(f64, f64)],
        w: f64,
        h: f64,
    ) -> Option<((f64, f64), Rect)> {
        let scored = points.iter().enumerate().filter_map(|(i, at)| {
            let (score, rect) = self.best(*at, w, h)?;
            Some((score + i as f64, *at, rect))
        });
        let (_, at, rect) = scored.min_by(|a, b| a.0.total_cmp(&b.0))?;
        self.taken.push(rect);
        Some((at, rect))
    }

    fn best(&self, at: (f64, f64), w: f64, h: f64) -> Option<(f64, Rect)> {
        let mut best: Option<(f64, Rect)> = None;
        for step_y in -14_i32..=14 {
            for (step_x, share) in (-5_i32..=5).flat_map(|i| [(i, 0.0), (i, 0.5), (i, 1.0)]) {
                let gap = if step_x < 0 {
                    -12.0
                } else if step_x > 0 {
                    12.0
                } else {
                    0.0
                };
                let x = at.0 + gap + f64::from(step_x) * 16.0 - share * w;
                let x = x.clamp(
                    self.panel.x,
                    (self.panel.x + self.panel.w - w).max(self.panel.x),
                );
                let y = at.1 + f64::from(step_y) * 12.0 - 0.5 * h;
                let rect = Rect { x, y, w, h };
                let inside = y >= self.panel.y && y + h <= self.panel.y + self.panel.h;
                let wide = Rect {
                    x: x - 4.0,
                    y: y - 2.0,
                    w: w + 8.0,
                    h: h + 4.0,
                };
                if !inside || w > self.panel.w || self.taken.iter().any(|t| t.common(&wide) > 0.0) {
                    continue;
                }
                let crossed: f64 = self.lines.iter().map(|l| wide.crossed(*l)).sum();
                if crossed > HIDDEN_PX || self.leads.iter().any(|l| wide.crossed(*l) > 0.0) {
                    continue;
                }
                let near = nearest(&rect, at);
                let far = (near.0 - at.0).hypot(near.1 - at.1);
                if far > FARTHEST_PX {
                    continue;
                }
                // The thin line back to the mark must not run through other words or marks.
                let others = self.taken.iter().filter(|t| !t.holds(at));
                if others.map(|t| t.crossed((at, near))).sum::<f64>() > 0.0 {
                    continue;
                }
                let score = 3.0 * crossed + far + 0.02 * (x + 0.5 * w - at.0).abs();
                if best.is_none_or(|(b, _)| score < b - 1.0e-9) {
                    best = Some((score, rect));
                }
            }
        }
        best
    }
}

/// The point of an area nearest to another point.
pub(crate) fn nearest(rect: &Rect, at: (f64, f64)) -> (f64, f64) {
    (
        at.0.clamp(rect.x, rect.x + rect.w),
        at.1.clamp(rect.y, rect.y + rect.h),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_never_lie_on_words() {
        let panel = Rect {
            x: 0.0,
            y: 0.0,
            w: 400.0,
            h: 200.0,
        };
        let mut room = Room {
            panel,
            taken: Vec::new(),
            lines: vec![((0.0, 100.0), (400.0, 100.0))],
            leads: Vec::new(),
        };
        let mut found: Vec<Rect> = Vec::new();
        for _ in 0..30 {
            if let Some((_, rect)) = room.find_near_one(&[(200.0, 100.0)], 90.0, 18.0) {
                assert!(found.iter().all(|f| f.common(&rect) <= 0.0));
                assert!((rect.common(&panel) - rect.w * rect.h).abs() < 1.0e-6);
                found.push(rect);
            }
        }
        assert!(found.len() > 4 && found.len() < 30, "{}", found.len());
    }
}
