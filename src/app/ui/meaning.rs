//! What a number decides, for whoever rests the pointer on its name: what more of it gains, and what that costs.

/// In a sentence or two; `None` where the name says it.
pub fn of(label: &str) -> Option<&'static str> {
    let text = match label.trim().to_lowercase().as_str() {
        "water level" => "Up to where the tank is filled. Nozzles above it splash; overflow and returns work just under it.",
        "azimuth" => "Which way round, seen from above: 0 deg to the right, 90 to the back, 180 to the left, -90 to the front.",
        "elevation" => "How far up: 0 deg is level. Up stirs the surface, down stirs the sand.",
        "bore" | "outlet bore" => "Inside diameter. Narrower: a faster jet that carries further, but less flow and more head for the pump.",
        "drill" => "Diameter of the hole for the bulkhead. Untick it where the bore decides. Larger holes need more room to the edges.",
        "held by" => "A panel that is drilled, or the end of a pipe that hangs in the water.",
        "fed" => "By the pump and pipes of a circuit, or by a flow that you know already.",
        "open share" => "Openings over the whole face. More open: slower water at the screen, safer for animals; less keeps more out.",
        "behind rock" => "Share of the screen that rock hides. Water comes from one side only, and faster.",
        "blocked by dirt" => "Share that algae or an animal covers. Try 50 %: the other intake must be able to take over.",
        "dwell" => "How long the step's outlets stay open. Longer: the water gathers way; shorter: more change for the corals.",
        "change-over" => "How long opening and closing take. Quick changes give surge, but a pressure peak in the pipes.",
        "phase" => "How much later the unit begins than the others. Units out of phase keep some outlets open at any time.",
        "one turn" => "Time of one turn of the drum. Slow turns let long currents build up; quick turns give surge.",
        "held at" => "Where the drum stands still, in shares of a turn.",
        "port arc" => "How much of the drum's circle an outlet takes. With the windows it decides how gradually outlets open.",
        "leak, shut" => "What a shut outlet still lets through, as a share of open.",
        "loss k, open" => "Loss of the unit's body with an outlet wide open, in velocity heads of the outlet.",
        "speed" => "Share of the pump's full speed. Flow goes with it; power with its third power.",
        "electric power" => "What the pump draws at full speed: for the yearly cost.",
        "npsh wanted" => "Suction head that the maker asks for. Under it the pump rattles and wears.",
        "crest" => "Height of the overflow's lip. The water settles a little above it.",
        "lip" => "Length that water falls over. Longer: thinner film, better skimming, less rise at full flow.",
        "left open by teeth" => "Share of the lip between its teeth. More skims better; less keeps fish out.",
        "depth" => "How deep the sand lies. The flow ends on it.",
        "grain" => "Mean size. Fine sand drifts at low speed; coarse sand stays, and holds dirt.",
        "room above" => "What the sump can take on top of its water when the pumps stop. Too little: a wet floor.",
        "wants" => "How fast the water should be there, on average. The verdict says when it is too slow or too fast.",
        "spread" => "Angle between the two jets of the wye.",
        "total over motive" => "Water that leaves over water pumped in: an eductor drags the rest along, slower.",
        _ => return None,
    };
    Some(text)
}

#[cfg(test)]
mod tests {
    #[test]
    fn names_are_met_however_far_they_are_indented() {
        assert!(super::of("    dwell").is_some() && super::of("Bore").is_some() && super::of("Long").is_none());
    }
}
