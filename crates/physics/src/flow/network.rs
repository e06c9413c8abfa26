//! A net of pipes fed at one point: a ring main with its chords and draw-offs.
//!
//! Each pipe is isothermal, p_a² − p_b² = λ (L/D) ṁ|ṁ|/A² · R T, without the kinetic term, which
//! in a station's pipes is 0.03…0.2 % of the drop. Found by Newton's rule on flows and falls of the
//! squared pressure together: from its first step on the flows balance at every node, and the rest
//! is the minimum of a convex sum over the loops, so that a cut step always leads down.
//!
//! Must not know: fittings, machines, why a node draws air.

use super::pipe::Pipe;
use super::{FrictionLaw, R_AIR, kelvin, kg_per_s, pressure_pa};
use crate::quantity::{AbsolutePressure, MassFlow, Temperature};
use crate::validity::{Answer, Range, Refusal};

const NODES: Range = Range {
    what: "number of nodes",
    unit: "-",
    min: 1.0,
    max: 500.0,
    source: "the net of pipes",
};
const NET_LENGTH: Range = Range {
    what: "pipe length",
    unit: "m",
    min: 1.0e-3,
    max: 1.0e5,
    source: "the net of pipes",
};

const MOST_STEPS: u32 = 200;
const MOST_CUTS: u32 = 60;

/// A pipe between two nodes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Branch {
    /// The node where its flow counts as leaving.
    pub from: usize,
    /// The node where its flow counts as arriving.
    pub to: usize,
    /// The pipe.
    pub pipe: Pipe,
}

/// A net of pipes with one supply of known pressure.
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    /// What each node draws off; as many nodes as entries. The supply's own entry adds to what it
    /// delivers.
    pub draw_offs: Vec<MassFlow>,
    /// The pipes.
    pub branches: Vec<Branch>,
    /// The node of the supply.
    pub supply: usize,
    /// The pressure there.
    pub supply_pressure: AbsolutePressure,
    /// The temperature everywhere.
    pub temperature: Temperature,
    /// The viscosity everywhere, Pa s.
    pub viscosity_pa_s: f64,
    /// The friction law.
    pub law: FrictionLaw,
}

/// What a net of pipes settles to.
#[derive(Debug, Clone, PartialEq)]
pub struct NetworkState {
    /// Pressure of each node.
    pub pressures: Vec<AbsolutePressure>,
    /// Flow of each branch, from its `from` to its `to`; negative the other way.
    pub flows: Vec<MassFlow>,
    /// What the supply delivers.
    pub delivered: MassFlow,
}

/// One branch made ready, its squared pressures divided by that of the supply.
struct Line {
    from: usize,
    to: usize,
    /// L/D · R T/(A p)², so that the fall is resistance · λ ṁ|ṁ|.
    resistance: f64,
    relative_roughness: f64,
    /// Re/ṁ.
    reynolds_per_flow: f64,
    area_m2: f64,
    law: FrictionLaw,
}

impl Line {
    /// The slope of the fall without flow, where every law is laminar.
    fn slope_at_rest(&self) -> f64 {
        64.0 * self.resistance / self.reynolds_per_flow
    }

    /// The fall of the squared pressure at a flow; it rises with the flow without a jump.
    fn fall(&self, flow: f64) -> Answer<f64> {
        let reynolds = flow.abs() * self.reynolds_per_flow;
        if reynolds < 1.0e-6 {
            return Ok(self.slope_at_rest() * flow);
        }
        let factor = self.law.factor(reynolds, self.relative_roughness)?;
        Ok(self.resistance * factor * flow * flow.abs())
    }

    /// How fast the fall rises with the flow.
    fn slope(&self, flow: f64) -> Answer<f64> {
        const STEP: f64 = 1.0e-6;
        let change = flow.abs() * STEP;
        if change * self.reynolds_per_flow < 1.0e-9 {
            return Ok(self.slope_at_rest());
        }
        let rise = self.fall(flow + change)? - self.fall(flow - change)?;
        Ok((rise / (2.0 * change)).max(self.slope_at_rest()))
    }
}

impl Network {
    /// Pressures and flows of the net.
    ///
    /// # Validity
    /// 1…500 nodes; 0.01…50 bar(a) at the supply and at every node; 150…1000 K; pipes of 1 mm to
    /// 100 km; flows to which the friction law applies and at which no pipe chokes.
    ///
    /// # Errors
    /// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] for a branch or supply whose
    /// node does not exist, a branch from a node to itself, or a choking pipe;
    /// [`Refusal::NoSolution`] if no pipe leads from the supply to a node or the net cannot carry
    /// what is drawn.
    ///
    /// # Source
    /// Mass balance and Darcy–Weisbach (first principles).
    pub fn solve(&self) -> Answer<NetworkState> {
        let draws: Vec<f64> = self
            .draw_offs
            .iter()
            .map(|&m| kg_per_s(m))
            .collect::<Answer<_>>()?;
        let lines = self.lines()?;
        self.reach_all()?;
        let (flows, falls) = settle(&lines, &draws, self.supply)?;
        self.state(&lines, &draws, &flows, &falls)
    }

    fn lines(&self) -> Answer<Vec<Line>> {
        let nodes = self.draw_offs.len();
        NODES.check(nodes as f64)?;
        let exists = |node: usize| {
            if node < nodes {
                return Ok(());
            }
            Err(Refusal::Contradiction {
                must: "the number of a node lies below the number of nodes",
                first: node as f64,
                second: nodes as f64,
            })
        };
        exists(self.supply)?;
        let rt = R_AIR * kelvin(self.temperature)?;
        let p = pressure_pa(self.supply_pressure)?;
        let per_kg = MassFlow::new(1.0);
        self.branches
            .iter()
            .map(|branch| {
                exists(branch.from)?;
                exists(branch.to)?;
                if branch.from == branch.to {
                    return Err(Refusal::Contradiction {
                        must: "a pipe of the net joins two different nodes",
                        first: branch.from as f64,
                        second: branch.to as f64,
                    });
                }
                let pipe = branch.pipe.checked()?;
                NET_LENGTH.check(pipe.length_m)?;
                let area_m2 = pipe.area_m2();
                Ok(Line {
                    from: branch.from,
                    to: branch.to,
                    resistance: pipe.length_m / pipe.bore_m * rt / (area_m2 * p).powi(2),
                    relative_roughness: pipe.relative_roughness(),
                    reynolds_per_flow: pipe.reynolds(per_kg, self.viscosity_pa_s)?,
                    area_m2,
                    law: self.law,
                })
            })
            .collect()
    }

    /// Refuses a node to which no pipe leads.
    fn reach_all(&self) -> Answer<()> {
        let mut reached = vec![false; self.draw_offs.len()];
        let mut open = vec![self.supply];
        while let Some(node) = open.pop() {
            if core::mem::replace(&mut reached[node], true) {
                continue;
            }
            for branch in &self.branches {
                if branch.from == node {
                    open.push(branch.to);
                } else if branch.to == node {
                    open.push(branch.from);
                }
            }
        }
        if reached.iter().all(|&yes| yes) {
            return Ok(());
        }
        Err(Refusal::NoSolution {
            what: "pressure of a node without a pipe to the supply",
        })
    }

    fn state(
        &self,
        lines: &[Line],
        draws: &[f64],
        flows: &[f64],
        falls: &[f64],
    ) -> Answer<NetworkState> {
        let pressures: Vec<AbsolutePressure> = falls
            .iter()
            .map(|fall| {
                let p = AbsolutePressure::new(self.supply_pressure.si() * (1.0 - fall).sqrt());
                pressure_pa(p).map(|_| p).map_err(|_| Refusal::NoSolution {
                    what: "pressure in the net at these draw-offs",
                })
            })
            .collect::<Answer<_>>()?;
        let speed = (R_AIR * self.temperature.si()).sqrt();
        for (line, &flow) in lines.iter().zip(flows) {
            let end = if flow < 0.0 { line.from } else { line.to };
            let chokes_at = line.area_m2 * pressures[end].si() / speed;
            if flow.abs() >= chokes_at {
                return Err(Refusal::Contradiction {
                    must: "the flow of a pipe in kg/s lies below the one at which it chokes",
                    first: flow.abs(),
                    second: chokes_at,
                });
            }
        }
        Ok(NetworkState {
            pressures,
            flows: flows.iter().map(|&m| MassFlow::new(m)).collect(),
            delivered: MassFlow::new(draws.iter().sum()),
        })
    }
}

/// The flow of each line and the fall of the squared pressure from the supply to each node.
fn settle(lines: &[Line], draws: &[f64], supply: usize) -> Answer<(Vec<f64>, Vec<f64>)> {
    // Any start will do; a Reynolds number of 10⁴ lies in every law.
    let mut flows: Vec<f64> = lines.iter().map(|l| 1.0e4 / l.reynolds_per_flow).collect();
    let mut falls = vec![0.0; draws.len()];
    let scale = draws.iter().sum::<f64>();
    let mut balanced = false;
    let mut before = f64::INFINITY;
    for _ in 0..MOST_STEPS {
        let steps = newton(lines, draws, supply, &flows, &mut falls)?;
        let share = if balanced {
            cut(lines, &flows, &steps, &falls)?
        } else {
            1.0
        };
        balanced = true;
        for (flow, step) in flows.iter_mut().zip(&steps) {
            *flow += share * step;
        }
        let largest = steps
            .iter()
            .fold(0.0_f64, |most, step| most.max(step.abs()));
        if !largest.is_finite() {
            break;
        }
        // A loop of wide pipes in a net that loses much elsewhere has a rounding error above the
        // first limit: there the steps stop shrinking.
        let stalls = largest <= 1.0e-6 * scale && largest > 0.5 * before;
        if largest <= 1.0e-13 * scale + 1.0e-18 || stalls {
            return Ok((flows, falls));
        }
        before = largest;
    }
    Err(Refusal::NoSolution {
        what: "balance of the flows in the net",
    })
}

/// The step of the flows that balances every node and, to first order, every loop; moves the falls
/// to where they then are. Both count from what is known, which keeps the digits of small falls.
fn newton(
    lines: &[Line],
    draws: &[f64],
    supply: usize,
    flows: &[f64],
    falls: &mut [f64],
) -> Answer<Vec<f64>> {
    let nodes = draws.len();
    let mut matrix = vec![vec![0.0; nodes]; nodes];
    let mut right = draws.to_vec();
    let mut eased = Vec::with_capacity(lines.len());
    for (line, &flow) in lines.iter().zip(flows) {
        let conductance = 1.0 / line.slope(flow)?;
        let miss = line.fall(flow)? - (falls[line.to] - falls[line.from]);
        let rest = -conductance * miss;
        matrix[line.from][line.from] += conductance;
        matrix[line.to][line.to] += conductance;
        matrix[line.from][line.to] -= conductance;
        matrix[line.to][line.from] -= conductance;
        right[line.to] -= flow + rest;
        right[line.from] += flow + rest;
        eased.push((conductance, miss));
    }
    matrix[supply].fill(0.0);
    for row in &mut matrix {
        row[supply] = 0.0;
    }
    matrix[supply][supply] = 1.0;
    right[supply] = 0.0;
    let moves = eliminate(matrix, right);
    for (fall, by) in falls.iter_mut().zip(&moves) {
        *fall += by;
    }
    let step = |(line, (conductance, miss)): (&Line, (f64, f64))| {
        conductance * (moves[line.to] - moves[line.from] - miss)
    };
    Ok(lines.iter().zip(eased).map(step).collect())
}

/// How much of a step to take: all of it, unless the convex sum would rise steeply at its end.
///
/// The steps balance at every node, so taking the node pressures off the falls changes nothing but
/// the rounding.
fn cut(lines: &[Line], flows: &[f64], steps: &[f64], falls: &[f64]) -> Answer<f64> {
    let slope_at = |share: f64| -> Answer<f64> {
        lines
            .iter()
            .zip(flows.iter().zip(steps))
            .map(|(line, (flow, step))| {
                let driven = falls[line.to] - falls[line.from];
                Ok((line.fall(flow + share * step)? - driven) * step)
            })
            .sum()
    };
    let start = slope_at(0.0)?;
    let mut share = 1.0;
    for _ in 0..MOST_CUTS {
        if slope_at(share)? <= 0.5 * start.abs() {
            break;
        }
        share *= 0.5;
    }
    Ok(share)
}

/// Solves a symmetric positive definite system by elimination.
fn eliminate(mut matrix: Vec<Vec<f64>>, mut right: Vec<f64>) -> Vec<f64> {
    let n = right.len();
    for column in 0..n {
        let (above, below) = matrix.split_at_mut(column + 1);
        let pivot = &above[column];
        for (row, line) in below.iter_mut().enumerate() {
            let factor = line[column] / pivot[column];
            if factor.abs() > 0.0 {
                for (cell, top) in line.iter_mut().zip(pivot).skip(column) {
                    *cell -= factor * top;
                }
                right[column + 1 + row] -= factor * right[column];
            }
        }
    }
    for row in (0..n).rev() {
        let known: f64 = (row + 1..n).map(|i| matrix[row][i] * right[i]).sum();
        right[row] = (right[row] - known) / matrix[row][row];
    }
    right
}
