"""What linear theory cannot know of a shim or a wrap, the taps that settle it, and what can hurt."""

from __future__ import annotations

from collections.abc import Iterator

from stickout.cli.text.words import hertz, plain
from stickout.fem.compare.compare import Comparison, Entry
from stickout.fem.setup.bands import Spread
from stickout.fem.setup.parts import Setup


def unknown_words(comparison: Comparison) -> Iterator[str]:
    """Yield what no number in the comparison can tell, a paragraph each."""
    shimmed = with_part(comparison, "shim")
    if shimmed is not None:
        yield (
            f"{_own_loss(shimmed, 'shim')} What a shim changes is the contact: one seat becomes two, and "
            "unless each new face is about twice as stiff as the bare one, stiffness is lost. Where the "
            "sheet fills an uneven seat, so that the tool rocks no more, it gains. Linear theory takes "
            "every face as bedded all over and never slipping: how yours bed, it cannot know."
        )
    if any(one.result.setup.grip.hold.screws_mm for one in comparison.entries):
        yield (
            "The floor of a slot counts as bedded and pressed all over, and holds against lifting as well "
            "as against pressing. A real one carries near the screws only: one screw is not as good here "
            "as it looks, and a shank that rocks on its floor is far softer than any of this."
        )
    if any(one.result.setup.absorber is not None for one in comparison.entries):
        yield (
            "An absorber counts in the margin of the cut only: note, spring and k·ζ are those of the bar "
            "without it. Its tuning and damping are taken as given, and all set-ups lose what clamped tools "
            "usually lose, for what an absorber gains hangs on that: tap the clamped bar without it."
        )
    bonded, loose = (with_part(comparison, "wrap", bond=bond) for bond in ("bonded", "loose"))
    if bonded is not None:
        yield (
            f"{_own_loss(bonded, 'wrap')} This holds for a wrap soldered to the bar all over; where it has "
            "come off it is loose."
        )
    if loose is not None:
        rubbing = loose.result.setup.turns.rubbing_loss_factor if loose.result.setup.turns else None
        taken = f", and their rubbing as anything from none to your {plain(rubbing)}" if rubbing else ""
        yield (
            f"Loose turns are counted as weight only{taken}. Turns that rub on each other and on the bar "
            "take energy, and more as the bar swings wider: how much, linear theory cannot know. It may "
            "be the whole effect of the wrap, or nothing."
        )


def tap_words(comparison: Comparison) -> str:
    """Return the two taps that settle a comparison, with the notes to expect."""
    change = (comparison.changes or comparison.rivals)[0]
    before, after = comparison.first.values["note_hz"], change.values["note_hz"]
    ratio = change.ratios["note_hz"]
    text = (
        "Two taps settle it. Isolate the drive. Tap the edge along the force as it is; make the change, "
        "clamp with the same torque, tap again; take the note f and the damping ratio ζ from the ring of "
        f"each. Expected: {_note(before)} before, {_note(after)} after, {_times(ratio)} times as high. "
    )
    one, two = comparison.first.result.setup, change.result.setup
    if one.absorber != two.absorber:
        return text + (
            "These are the notes without the absorber; with it the bar answers at two notes, both of them "
            "short-lived. Where one of them rings on, the absorber is off tune: low if the upper one rings, "
            "high if the lower one does."
        )
    if (one.bar, one.wrap, one.edge) == (two.bar, two.wrap, two.edge):
        return text + (
            "With the same bar, k goes with f²: f²·ζ must rise by a tenth or more, or it was not worth "
            "it. Never judge by ζ alone."
        )
    return text + (
        "Another weight swings now, so the note alone does not tell the stiffness: pull the edge with a "
        "spring scale against a dial before and after. Pulled stiffness times ζ must rise by a tenth or "
        "more, or it was not worth it."
    )


def caution_words(comparison: Comparison) -> list[str]:
    """Return what can hurt, for the shims and wraps that occur, a sentence or two each."""
    setups = [one.result.setup for one in comparison.entries]
    added = [m.name for s in setups for name, m in s.materials.items() if name in ("shim", "wrap")]
    out = []
    if any("copper" in name for name in added):
        out.append(
            "Copper is annealed at a dull red heat, 400 to 650 °C: tongs, a heat-proof mat, eye "
            "protection, no zinc-plated or painted stock; hot metal looks like cold, and it spatters when "
            "quenched."
        )
    if any(_is_leaded(name) for name in added):
        out.append(
            "Lead poisons: gloves, wash your hands, no food near it; no filing, sanding or grinding; melt "
            "it only with ventilation; keep it from children and pregnant persons; dispose of it as "
            "hazardous waste. Tin-silver solder does the same job without lead."
        )
    if any(s.wrap is not None for s in setups):
        out.append(
            "A turn that comes loose is a projectile, or jams the tool: fasten both ends, keep the wrap "
            "clear of bore, chips and coolant, and look at it before each use."
        )
    return out


def danger_words(comparison: Comparison) -> list[str]:
    """Return what can hurt, a short sentence each, for the one screen."""
    setups = [one.result.setup for one in comparison.entries]
    added = [m.name for s in setups for name, m in s.materials.items() if name in ("shim", "wrap")]
    out = []
    if any("copper" in name for name in added):
        out.append("Annealing: dull red heat, tongs, eye cover, no zinc-plated stock.")
    if any(_is_leaded(name) for name in added):
        out.append("Lead: gloves, wash hands, do not file it.")
    if any(s.wrap is not None for s in setups):
        out.append("Fasten both ends; a loose turn flies.")
    return out


def _is_leaded(name: str) -> bool:
    """Return whether a metal holds lead."""
    return name.startswith("lead") or name == "tin-lead solder"


def own_share(entry: Entry, part: str) -> str:
    """Return what a part's own metal takes of the whole loss: "next to nothing itself"."""
    share = float(entry.result.shares[part][entry.result.aligned])
    own = share * entry.result.setup.materials[part].loss_factor.likely
    return f"{_weight(own / entry.values['loss_factor'].likely)} itself"


def with_part(comparison: Comparison, part: str, *, bond: str | None = None) -> Entry | None:
    """Return the first entry with a shim, or with a wrap of that bond."""
    for entry in comparison.entries:
        found = getattr(entry.result.setup, part)
        if found is not None and (bond is None or found.bond == bond):
            return entry
    return None


def _own_loss(entry: Entry, part: str) -> str:
    """Return how little the metal itself loses: its share of the energy, and what that adds to the loss."""
    setup: Setup = entry.result.setup
    share = float(entry.result.shares[part][entry.result.aligned])
    material = setup.materials[part]
    adds, whole = share * material.loss_factor.likely, entry.values["loss_factor"].likely
    return (
        f"The {part} itself, {material.name}, holds {plain(100 * share)} % of the mode's energy and so adds "
        f"{plain(adds)} to a loss factor of {plain(whole)}: {_weight(adds / whole)}."
    )


def _weight(part: float) -> str:
    """Return what a part of the whole loss amounts to."""
    if part < 0.02:
        return "next to nothing"
    return f"{100 * part:.0f} % of it"


def _note(note: Spread) -> str:
    """Return a note with its band where it has one worth telling."""
    text = hertz(note.likely)
    if note.high - note.low < 0.01 * note.likely:
        return text
    return f"{text} ({hertz(note.low)} to {hertz(note.high)})"


def _times(ratio: Spread) -> str:
    if ratio.high - ratio.low < 0.015:
        return f"{ratio.likely:.2f}"
    return f"{ratio.likely:.2f} ({ratio.low:.2f} to {ratio.high:.2f})"
