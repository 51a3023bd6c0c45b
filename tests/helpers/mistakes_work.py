"""One mistake each in the work, what holds it, and the post."""

from __future__ import annotations

from setups import WORKING, changed, with_line

Mistake = tuple[str, str, tuple[str, ...]]

STEP = "[[work.steps]]\nstart = 60\ndiameter = 12\n"
STEADY = "[[work.steadies]]\nat = 60\n"
CENTRE = changed(WORKING, 'held = "chuck"', 'held = "chuck and centre"')

BETWEEN = (
    'units = "mm"\n[bar]\ndiameter = 25\noverhang = 320\nmaterial = "steel"\n[edge]\nend_distance = 160\n'
    '[grip]\nstyle = "between centres"\n'
)

# What is wrong -> (set-up, key of the mistake, words that must be in its line).
MISTAKES: dict[str, Mistake] = {
    "cutter at the centre": (
        changed(BETWEEN, "end_distance = 160", "end_distance = 0"),
        "edge.end_distance",
        ("held at both ends", "back to the cutter"),
    ),
    "gripped between centres": (
        changed(BETWEEN, "overhang = 320", "overhang = 320\ngripped = 40"),
        "bar.gripped",
        ("left out for a bar held at both ends",),
    ),
    "jaws between centres": (
        BETWEEN + "jaw_length = 20\n",
        "grip.jaw_length",
        ("left out for a bar held by between centres",),
    ),
    "bar held by a vice": (
        changed(BETWEEN, 'style = "between centres"', 'style = "centres"\nheld = "vice"'),
        "grip.held",
        ("between centres", "chuck and centre"),
    ),
    "step beyond the work": (
        WORKING + changed(STEP, "start = 60", "start = 600"),
        "work.steps.1.start",
        ("below the length of the work",),
    ),
    "step of no size": (
        WORKING + changed(STEP, "diameter = 12\n", ""),
        "work.steps.1",
        ("diameter or a bore",),
    ),
    "step bored wider than it is": (
        WORKING + STEP + "bore = 12\n",
        "work.steps.1.bore",
        ("below the diameter", "leave a wall"),
    ),
    "steady on the cut": (
        changed(WORKING, "cut_at = ", "cut_at = 61 # ") + STEADY,
        "work.steadies.1.at",
        ("from the cut", "in the way"),
    ),
    "steady beyond the work": (
        WORKING + changed(STEADY, "at = 60", "at = 1000"),
        "work.steadies.1.at",
        ("at most the length",),
    ),
    "spring of no steady": (
        with_line(WORKING, "work", "steady_n_per_um = 20"),
        "work.steady_n_per_um",
        ("without a steady",),
    ),
    "open tube on a centre": (
        with_line(CENTRE, "work", "bore = 8"),
        "work.held",
        ("solid end", "plug", "bore = 0"),
    ),
    "quill without a tailstock": (
        with_line(WORKING, "work", "quill_out = 40"),
        "work.quill_out",
        ("left out for work held by chuck",),
    ),
    "a thread's worth of jaw": (
        with_line(WORKING, "work", "jaw_length = 1"),
        "work.jaw_length",
        ("at least", "lets go"),
    ),
    "chuck without stiffness": (
        with_line(WORKING, "work", "chuck_n_per_um = 0"),
        "work.chuck_n_per_um",
        ("above 0",),
    ),
    "post of two springs": (
        WORKING + "[post]\nn_per_um = [20, 30]\n",
        "post.n_per_um",
        ("three in brackets",),
    ),
    "post without stiffness": (
        WORKING + "[post]\nn_per_um = [20, 0, 30]\n",
        "post.n_per_um",
        ("above 0 along x, y and z",),
    ),
    "post that loses nothing": (
        WORKING + "[post]\nloss_factor = 0\n",
        "post.loss_factor",
        ("above 0", "twice its damping ratio"),
    ),
    "post without weight": (WORKING + "[post]\nmass_kg = 0\n", "post.mass_kg", ("0.01 to 1000 kg",)),
}
