"""How the first answer of a plan is told beforehand."""

EARLY = "beds and schedule: first plan "  # followed by when it ends, what the airframe weighs, what it costs
