//! Networks: published and hand-solved ones, ill ones, and what must hold for every one.

use super::pipes::assert_near;
use proptest::prelude::*;
use slackwater::hydraulics::{Curve, Fluid, Law, Network, Node, Note, Regime, Solution};

const FLUID: Fluid = Fluid { density: 1000.0, kinematic_viscosity: 1.02e-6 };

fn white_pipes() -> [Law; 3] {
    [(100.0, 0.08, 0.24e-3), (150.0, 0.06, 0.12e-3), (80.0, 0.04, 0.20e-3)].map(|(length, bore, roughness)| Law::Pipe {
        bore,
        length,
        roughness,
    })
}

fn between(laws: Vec<Law>, head: f64, in_series: bool) -> Solution {
    let mut net = Network::default();
    let (a, b) = (net.node(Node::Fixed(head)), net.node(Node::Fixed(0.0)));
    let mut from = a;
    let last = laws.len() - 1;
    for (i, law) in laws.into_iter().enumerate() {
        let to = if in_series && i < last { net.node(Node::Joint(0.0)) } else { b };
        net.link(from, to, law);
        from = if in_series { to } else { a };
    }
    net.solve(&FLUID, None)
}

#[test]
fn published_networks() {
    // References 1.18 and 1.19: White, Fluid Mechanics, series and parallel pipe examples (g 9.81, to 1 %).
    let head = 20.2905;
    let series = between(white_pipes().to_vec(), head, true);
    series.flow.iter().for_each(|q| assert_near("series, m3/h", q * 3600.0, 10.22, 0.01));
    let parallel = between(white_pipes().to_vec(), head, false);
    for (q, expected) in parallel.flow.iter().zip([62.53, 25.91, 11.41]) {
        assert_near("parallel, m3/h", q * 3600.0, expected, 0.01);
    }
    assert_near("parallel total, m3/h", parallel.flow.iter().sum::<f64>() * 3600.0, 99.84, 0.01);
    // Reference 1.25: looped network by Hardy-Cross (Cross 1936), one pipe against its assumed direction.
    let mut net = Network::default();
    let [a, b, c, d] = [-100.0, 20.0, 30.0, 50.0].map(|out| net.node(Node::Joint(out)));
    for (from, to, resistance) in [(a, b, 5.0), (a, c, 2.0), (b, c, 1.0), (b, d, 4.0), (c, d, 3.0)] {
        net.link(from, to, Law::Quadratic { resistance });
    }
    let solution = net.solve(&FLUID, None);
    assert!(solution.report.converged, "{:?}", solution.report);
    for (q, expected) in solution.flow.iter().zip([38.772875, 61.227125, -4.376895, 23.149770, 26.850230]) {
        assert_near("Hardy-Cross", *q, expected, 1e-5);
    }
    assert_near("h(A-D)", solution.head[a] - solution.head[d], 9660.33, 1e-5);
}

fn curve() -> Curve {
    Curve::new(&[(0.0, 6.0), (2e-3, 5.0), (4e-3, 3.0), (6e-3, 0.5)]).unwrap()
}

fn pump(speed: f64) -> Law {
    Law::Pump { curve: curve(), speed }
}

fn pipe(length: f64) -> Law {
    Law::Pipe { bore: 0.05, length, roughness: 1.5e-6 }
}

#[test]
fn ill_networks_are_named_not_fatal() {
    // A valve shut behind a pump: dead-head, its outlet floats on the pump's head.
    let mut net = Network::default();
    let tank = net.node(Node::Fixed(0.0));
    let out = net.node(Node::Joint(0.0));
    let p = net.link(tank, out, pump(1.0));
    net.link(out, tank, Law::Shut);
    let s = net.solve(&FLUID, None);
    assert!(s.report.converged && s.flow[p].abs() < 1e-9 && (s.head[out] - 6.0).abs() < 1e-6, "{s:?}");
    assert!(s.report.notes.contains(&Note::Pump(p, Regime::DeadHead)));

    // A loop without a pump, joined to nothing.
    let mut net = Network::default();
    let [a, b] = [net.node(Node::Joint(0.0)), net.node(Node::Joint(0.0))];
    net.link(a, b, pipe(1.0));
    net.link(b, a, pipe(2.0));
    let s = net.solve(&FLUID, None);
    assert!(s.report.converged && s.flow.iter().all(|q| q.abs() < 1e-9), "{s:?}");
    assert_eq!(s.report.notes, [Note::Floating(vec![a, b])]);

    // A part that asks for water with no way to get any.
    let mut net = Network::default();
    let [a, b] = [net.node(Node::Joint(1e-3)), net.node(Node::Joint(0.0))];
    net.link(a, b, pipe(1.0));
    let s = net.solve(&FLUID, None);
    assert!(s.report.converged && s.flow[0].abs() < 1e-9);
    assert_eq!(s.report.notes, [Note::Stranded(vec![a, b])]);

    // Zero length between two heads' pumps; two unequal pumps side by side: the weak one is pushed backwards.
    let mut net = Network::default();
    let tank = net.node(Node::Fixed(0.0));
    let [meet, out] = [net.node(Node::Joint(0.0)), net.node(Node::Joint(0.0))];
    let strong = net.link(tank, meet, pump(1.0));
    let weak = net.link(tank, meet, pump(0.3));
    let none = net.link(meet, out, pipe(0.0));
    net.link(out, tank, Law::minor(400.0, 0.05));
    let s = net.solve(&FLUID, None);
    assert!(s.report.converged, "{:?}", s.report);
    assert!(s.flow[weak] < 0.0 && s.flow[strong] > 0.0 && (s.flow[strong] + s.flow[weak] - s.flow[none]).abs() < 1e-12);
    assert!(s.report.notes.contains(&Note::Pump(weak, Regime::Backwards)) && s.report.notes.contains(&Note::NoResistance(none)));

    // Numbers that are none, ends that don't exist.
    let mut net = Network::default();
    let a = net.node(Node::Fixed(1.0));
    net.link(a, 7, pipe(1.0));
    net.link(a, a, pipe(1.0));
    net.link(a, a, Law::Pipe { bore: f64::NAN, length: 1.0, roughness: 0.0 });
    let s = net.solve(&FLUID, Some(&[f64::NAN]));
    assert_eq!(s.report.notes, [Note::BadLink(0), Note::BadLink(1), Note::BadLink(2)]);
    assert!(Network::default().solve(&FLUID, None).report.converged);
}

#[test]
fn one_way_link_holds() {
    let mut net = Network::default();
    let [low, high] = [net.node(Node::Fixed(0.0)), net.node(Node::Fixed(2.0))];
    net.link(low, high, Law::Series(vec![pipe(3.0), Law::OneWay { leak: 1e7, opens_at: 0.0 }]));
    let back = net.solve(&FLUID, None).flow[0];
    assert!((-3e-7..0.0).contains(&back), "{back}");
}

/// A ring main of `n` joints with a nozzle at each, chords across it, fed by one pump: about 2.5 n links.
fn ring(n: usize) -> Network {
    let mut net = Network::default();
    let tank = net.node(Node::Fixed(0.0));
    let joints: Vec<usize> = (0..n).map(|_| net.node(Node::Joint(0.0))).collect();
    net.link(tank, joints[0], pump(1.0));
    for i in 0..n {
        net.link(joints[i], joints[(i + 1) % n], pipe(0.5 + 0.01 * i as f64));
        net.link(joints[i], tank, Law::minor(1.0, 0.012));
        if i % 2 == 0 && i + n / 2 < n {
            net.link(joints[i], joints[i + n / 2], pipe(2.0));
        }
    }
    net
}

#[test]
fn five_hundred_links() {
    let net = ring(222);
    assert!(net.links.len() >= 500, "{}", net.links.len());
    let s = net.solve(&FLUID, None);
    assert!(s.report.converged && s.report.mass_residual <= 1e-9 && s.report.energy_residual <= 1e-9, "{:?}", s.report);
    let again = net.solve(&FLUID, Some(&s.flow));
    assert!(again.report.iterations <= 2, "a warm start costs {} steps", again.report.iterations);
}

/// Random network: a pump from a tank into a random tree of joints with extra links and outlets of random size.
fn random_network() -> impl Strategy<Value = Network> {
    let link = (0usize..1000, 0usize..1000, 0usize..4, 0.01f64..0.08, 0.0f64..1.0);
    (2usize..12, prop::collection::vec(link, 4..30), 0.2f64..1.0, -1.0f64..2.0).prop_map(|(joints, links, speed, lift)| {
        let mut net = Network::default();
        let [tank, high] = [net.node(Node::Fixed(0.0)), net.node(Node::Fixed(lift))];
        let nodes: Vec<usize> = (0..joints).map(|_| net.node(Node::Joint(0.0))).collect();
        net.link(tank, nodes[0], pump(speed));
        net.link(nodes[0], high, Law::minor(1.0, 0.02));
        for (i, (a, b, kind, bore, share)) in links.into_iter().enumerate() {
            let area = std::f64::consts::FRAC_PI_4 * bore * bore;
            let law = match kind {
                0 => Law::Pipe { bore, length: 5.0 * share, roughness: 1.5e-6 },
                1 => Law::Minor { k: 10.0 * share, area },
                2 => Law::Port { area, open: share, leakage: 0.02, body_k: 1.5 },
                _ => Law::Series(vec![Law::Pipe { bore, length: 1.0, roughness: 5e-5 }, Law::Minor { k: share, area }]),
            };
            // The first few make a tree, so that most joints are reached; the rest go anywhere.
            let from = if i + 1 < joints { nodes[a % (i + 1)] } else { nodes[a % joints] };
            let to = if i + 1 < joints {
                nodes[i + 1]
            } else if b % 3 == 0 {
                tank
            } else {
                nodes[b % joints]
            };
            if from != to {
                net.link(from, to, law);
            }
        }
        net
    })
}

/// At least 0.1 mL/s: below that the solver's own floors (heads of a micrometre) rule, and nothing flows for a person.
fn biggest(solution: &Solution) -> f64 {
    solution.flow.iter().fold(1e-7, |m, q| m.max(q.abs()))
}

/// The same network with every loss by the square of the flow.
fn square_laws(mut net: Network) -> Network {
    for link in &mut net.links {
        if let Law::Pipe { bore, length, .. } = link.law {
            link.law = Law::Minor { k: 0.1 + 0.02 * length / bore, area: std::f64::consts::FRAC_PI_4 * bore * bore };
        }
        if let Law::Series(laws) = &mut link.law {
            laws.retain(|law| matches!(law, Law::Minor { .. }));
        }
    }
    net
}

/// The pump's flow before and after one way is opened. One fixed head only: with a second reservoir another way can feed the one that was opened.
fn closed_and_open(mut net: Network, which: usize, by: f64) -> (f64, f64) {
    net.nodes[1] = Node::Fixed(0.0);
    let closed = net.solve(&FLUID, None).flow[0];
    let at = 1 + which % (net.links.len() - 1);
    match &mut net.links[at].law {
        Law::Pipe { length, .. } => *length /= by,
        Law::Minor { k, .. } => *k /= by,
        Law::Port { open, .. } => *open = (*open * by).min(1.0),
        Law::Series(laws) => {
            laws.pop();
        }
        _ => {}
    }
    (closed, net.solve(&FLUID, None).flow[0])
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_joint_balances(net in random_network()) {
        let s = net.solve(&FLUID, None);
        prop_assert!(s.report.converged, "{:?}", s.report);
        let mut surplus = vec![0.0; net.nodes.len()];
        for (link, q) in net.links.iter().zip(&s.flow) {
            surplus[link.from] -= q;
            surplus[link.to] += q;
        }
        for (node, excess) in net.nodes.iter().zip(surplus) {
            if let Node::Joint(_) = node {
                prop_assert!(excess.abs() <= 1e-9 * biggest(&s), "{excess}");
            }
        }
    }

    #[test]
    fn any_start_gives_the_same_answer(net in random_network(), starts in prop::collection::vec(-0.02f64..0.02, 40)) {
        let s = net.solve(&FLUID, None);
        let again = net.solve(&FLUID, Some(&starts[..net.links.len()]));
        prop_assert!(again.report.converged);
        for (a, b) in s.flow.iter().zip(&again.flow) {
            prop_assert!((a - b).abs() <= 1e-5 * biggest(&s), "{a} {b}");
        }
    }

    #[test]
    fn opening_a_way_never_lowers_the_pumps_flow(net in random_network(), which in 0usize..40, by in 1.1f64..4.0) {
        let (closed, open) = closed_and_open(square_laws(net), which, by);
        prop_assert!(open >= closed * (1.0 - 1e-7), "{closed} -> {open}");
    }

    /// With laminar and turbulent ways in one network it can, by next to nothing (Braess's paradox: Calvert and Keady 1993 show that it
    /// needs ways of unlike powers; from memory). Seen here: 1.1e-7 of the flow.
    #[test]
    fn opening_a_way_hardly_ever_lowers_the_pumps_flow(net in random_network(), which in 0usize..40, by in 1.1f64..4.0) {
        let (closed, open) = closed_and_open(net, which, by);
        prop_assert!(open >= closed * (1.0 - 1e-4), "{closed} -> {open}");
    }

    #[test]
    fn turning_every_link_round_turns_every_flow_round(net in random_network()) {
        let mut turned = net.clone();
        for link in turned.links.iter_mut().skip(1) {
            std::mem::swap(&mut link.from, &mut link.to);
        }
        let (s, t) = (net.solve(&FLUID, None), turned.solve(&FLUID, None));
        for (a, b) in s.flow.iter().zip(&t.flow).skip(1) {
            prop_assert!((a + b).abs() <= 1e-6 * biggest(&s), "{a} {b}");
        }
    }
}
