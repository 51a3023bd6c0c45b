"""One set-up in, one Result out."""

from __future__ import annotations

from functools import cache, partial

import numpy as np

from stickout.fem.beam.centres import edge_place, end_springs
from stickout.fem.force.loading import loading
from stickout.fem.setup.checks import check_setup, setup_warnings
from stickout.fem.setup.joints import Joint
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.carrier import CARRIER
from stickout.fem.solid.ends import ENDS, Ends, on_ends, with_edge_at
from stickout.fem.solid.kinds import mode_kinds
from stickout.fem.solid.model import Model, held_model
from stickout.fem.solid.modes import SPARE, Modes, solve_modes, static_compliance
from stickout.fem.solid.setting import (
    added_mass,
    bed_springs,
    elastic,
    hold_of,
    loss_factors,
    region_materials,
    support_of,
)
from stickout.fem.study.accuracy import Level, MeshLimit, refine
from stickout.fem.study.assumed import assumptions
from stickout.fem.study.budget import Account, Progress, mesh_work
from stickout.fem.study.cut_sanity import cut_warnings
from stickout.fem.study.damping import energy_shares, modal_loss_factors, needs_complex
from stickout.fem.study.directions import alignment, edge_moves, equal_pairs, static_share, turned_to
from stickout.fem.study.frames import own_frame, turn_about_bar, turned_model, turned_modes
from stickout.fem.study.hand import hand_of
from stickout.fem.study.in_block import block_limit, solved_in_block
from stickout.fem.study.mesh_levels import (
    FLAT,
    FLAT_SOFT,
    ROUND,
    ROUND_SMOOTH,
    ROUND_SOFT,
    ROUND_STIFF,
    Levels,
    fitting,
    pressed,
)
from stickout.fem.study.of_revolution import SPACES, revolved_limit, solved_as_revolved, space_work
from stickout.fem.study.on_post import absorber_place, carrier_of, counted_modes, named_post, on_post
from stickout.fem.study.result import Loss, Result
from stickout.fem.units import N_PER_UM_MM2
from stickout.meshes.pieces import MM, ROUND_KINDS, Fineness, depth_of, pieces_of
from stickout.meshes.tagged import FloatArray, TaggedMesh
from stickout.meshes.tool import bar_mesh, mesh_size

# Stiffness of the touching faces, times the bar's depth over its modulus, above which the joint no longer
# softens the stress at its rim.
_STIFF = 3.0
# Modes of the held bar beyond those asked for, from which those of a bar on two ends are made.
_MORE = 4


def run_study(setup: Setup, *, progress: Progress | None = None) -> Result:
    """Return everything the modes tell about a set-up.

    Parameters
    ----------
    setup
        The set-up; it is checked first.
    progress
        Called before each solution with where the computation stands.

    Returns
    -------
    Result
        Modes to the wanted accuracy, directions, losses, spring, hand formula, assumptions.

    Raises
    ------
    InputError
        The set-up cannot be used.
    SolveError
        The computation failed.

    Examples
    --------
    A thin beam would sing at 1809 Hz (f = 1.875² / 2π · √(EI/ρA) / L²); shear takes a little of that.

    >>> from stickout.fem import Bar, RigidGrip, Setup, run_study
    >>> result = run_study(Setup(bar=Bar(overhang_mm=80, diameter_mm=16), grip=RigidGrip()))
    >>> bool(0.98 < result.frequency_hz[0] / 1809 < 1)
    True
    >>> result.kinds[0], result.accurate
    ('bending', True)
    """
    check_setup(setup)

    return result_of(setup, limit_of(setup, progress=progress))


def limit_of(setup: Setup, *, progress: Progress | None = None) -> MeshLimit[Level]:
    """Return what ever finer solutions of a set-up tend to, with the error told.

    Parameters
    ----------
    setup
        The set-up; it is taken as checked.
    progress
        As ``run_study`` takes it.
    """
    account = Account(progress)
    own, _ = own_frame(setup)
    if solved_as_revolved(setup):
        work = cache(partial(space_work, own))
        account.plan([work(fine) for fine in SPACES[:2]])
        return revolved_limit(own, partial(drawn_on, own), solving=lambda fine: account.solving(work(fine)))

    if solved_in_block(setup):
        return block_limit(own, partial(mesh_of, own), model_of=partial(model_on, own), account=account)

    def solve(fineness: Fineness) -> Level:
        with account.solving(mesh_work(own, fineness)):
            return solve_level(setup, fineness)

    return refine(
        solve,
        levels_of(setup),
        accuracy=setup.solve.accuracy,
        wanted=counted_modes(setup),
        size=partial(unknowns_of, setup),
        plan=lambda meshes: account.plan([mesh_work(own, one) for one in meshes]),
    )


def levels_of(setup: Setup) -> Levels:
    """Return the meshes that suit a set-up's section and grip, coarser where they would be very large."""
    soft = held_softly(setup)
    if setup.bar.section in ROUND_KINDS:
        levels = _round_levels(setup, soft=soft)
    else:
        levels = FLAT_SOFT if soft else FLAT
    if setup.grip.holds_part_of_a_side or held_as_one(setup):
        slender = setup.bar.overhang_mm * MM / depth_of(pieces_of(setup.bar, hold_of(setup)))
        levels = pressed(slender=slender, accuracy=setup.solve.accuracy)
    return fitting(levels, partial(unknowns_of, setup))


def _round_levels(setup: Setup, *, soft: bool) -> Levels:
    """Return the meshes that suit a round, tubular or flatted bar."""
    on_bed = bed_springs(setup) is not None
    if not soft:
        return ROUND_STIFF if on_bed else ROUND
    shoulders = bool(setup.bar.steps) or (setup.wrap is not None and setup.wrap.bond == "bonded")
    return ROUND_SMOOTH if on_bed and not shoulders else ROUND_SOFT


def unknowns_of(setup: Setup, fineness: Fineness) -> int:
    """Return the number of unknowns of a set-up's mesh."""
    hold = hold_of(setup)
    return 3 * mesh_size(setup.bar, hold=hold, shim=setup.shim, wrap=setup.wrap, fineness=fineness).points


def held_softly(setup: Setup) -> bool:
    """Return whether springs hold the bar so softly that stress at the holder face is not singular."""
    springs = setup.grip.springs
    return springs is not None and not _is_stiff(setup, springs)


def _is_stiff(setup: Setup, faces: Joint) -> bool:
    """Return whether touching faces are stiff beside the bar."""
    depth = depth_of(pieces_of(setup.bar, hold_of(setup)))
    normal = faces.normal_n_per_um_mm2.likely * N_PER_UM_MM2
    return normal * depth > _STIFF * setup.bar_material.youngs_modulus.likely


def held_as_one(setup: Setup) -> bool:
    """Return whether the grip is a slot that holds the bar almost as if it were one with it."""
    grip = setup.grip
    if grip.faces is None or not grip.on_floor:
        return False
    return grip.faces.bonded or _is_stiff(setup, grip.faces)


def solve_level(setup: Setup, fineness: Fineness) -> Level:
    """Return a set-up solved on one mesh, in the frame of its own section where that may be turned."""
    own, angle = own_frame(setup)
    model = model_on(own, fineness)
    mesh = model.mesh
    modes, compliance = _solved(own, model)
    carrier, turn = carrier_of(setup), turn_about_bar(angle)
    if carrier is not None:
        modes, compliance = on_post(model, modes, compliance=compliance, carrier=carrier.turned(turn.T))
    kinds = mode_kinds(mesh, modes.shapes)
    kinds = kinds if carrier is None else named_post(kinds, modes)
    if angle:
        model, modes = turned_model(model, turn), turned_modes(modes, turn)
        compliance = turn @ compliance @ turn.T
    return Level(model, modes, kinds, compliance, model.layout.n_unknowns)


def drawn_on(setup: Setup) -> Model:
    """Return the model that a body of revolution is drawn on."""
    return model_on(setup, levels_of(setup).fineness[-1])


def model_on(setup: Setup, fineness: Fineness) -> Model:
    """Return the model of a set-up's mesh, in the frame it is given in."""
    mesh = mesh_of(setup, fineness)
    materials = {name: elastic(m) for name, m in region_materials(setup, mesh).items()}
    model = held_model(mesh, materials, support=support_of(setup), added=added_mass(setup, mesh))
    return with_edge_at(model, edge_place(setup)) if setup.grip.at_both_ends else model


def _solved(setup: Setup, model: Model) -> tuple[Modes, FloatArray]:
    """Return modes and compliance of a held model, on the springs of its ends where both are held."""
    wanted = setup.solve.modes
    if not setup.grip.at_both_ends:
        return solve_modes(model, wanted), static_compliance(model)
    root, far = end_springs(setup)
    ends = Ends(root=root.translation, tilt=root.rotation, far=far.translation)
    return on_ends(model, solve_modes(model, wanted + _MORE), ends=ends, wanted=wanted + SPARE)


def mesh_of(setup: Setup, fineness: Fineness) -> TaggedMesh:
    """Return the mesh of a set-up."""
    return bar_mesh(
        setup.bar, hold=hold_of(setup), edge=setup.edge, shim=setup.shim, wrap=setup.wrap, fineness=fineness
    )


def result_of(setup: Setup, limit: MeshLimit[Level]) -> Result:
    """Return everything that follows from solved meshes: directions, losses, hand formula, assumptions."""
    push = loading(setup.cut)
    level = limit.finest
    pairs = equal_pairs(limit.frequency_hz, limit.error, kinds=level.kinds)
    modes = turned_to(level.modes, pairs, force=push.direction)
    along = static_share(modes, limit.compliance, force=push.direction)
    loss, complex_loss = _losses(setup, level)
    wanted, short = counted_modes(setup), _shortfall(setup, limit)
    return Result(
        setup=setup,
        drawn_on=level.drawn_on,
        unknowns=level.unknowns,
        modes=modes,
        n_modes=wanted,
        frequency_hz=limit.frequency_hz,
        frequency_error=limit.error,
        kinds=level.kinds,
        pairs=pairs,
        moves=edge_moves(modes),
        shares=energy_shares(modes.energy),
        loss=loss,
        complex_loss=complex_loss,
        compliance=limit.compliance,
        compliance_error=limit.compliance_error,
        loading=push,
        alignment=alignment(modes.edge, push.direction),
        static_share=along,
        aligned=int(np.argmax(along[:wanted])),
        hand=hand_of(setup) if carrier_of(setup) is None else None,
        accurate=limit.reached,
        assumptions=assumptions(setup, push),
        warnings=[*setup_warnings(setup), *cut_warnings(setup, limit.compliance), *filter(None, [short])],
        shortfall=short,
        place=absorber_place(setup, level, modes=modes, compliance=limit.compliance),
    )


def _losses(setup: Setup, level: Level) -> tuple[Loss, FloatArray | None]:
    """Return the loss factors by energy shares, and by the complex problem where that may differ."""
    energy = level.modes.energy
    bands = loss_factors(setup, list(energy))
    low, likely, high = (
        modal_loss_factors(energy, {k: getattr(b, side) for k, b in bands.items()})
        for side in ("low", "likely", "high")
    )
    if setup.turns is not None and setup.turns.rubbing_loss_factor:
        # What rubbing takes is unknown: anything from nothing to the given share of the wrap's motion.
        shapes = level.modes.shapes.transpose(1, 2, 0)
        high = high + setup.turns.rubbing_loss_factor * level.model.skin_shares(shapes)
    eta = {k: b.likely for k, b in bands.items()}
    # The complex problem is that of the mesh: it knows neither post nor ends.
    if not needs_complex(list(eta.values())) or {CARRIER, ENDS} & set(energy):
        return Loss(low, likely, high), None
    from stickout.fem.study.complex_modes import complex_modes  # here: few bars lose so much

    return Loss(low, likely, high), complex_modes(level.model, level.modes, eta=eta).loss_factor


def _shortfall(setup: Setup, limit: MeshLimit[Level]) -> str:
    """Return by how much the wanted accuracy was missed; empty where it was reached."""
    if limit.reached:
        return ""
    worst, soft = limit.error[: counted_modes(setup)].max(), np.diag(limit.compliance_error).max()
    return (
        f"The frequencies are not known better than {100 * worst:.2g} %, the static spring not better "
        f"than {100 * soft:.2g} %, where {100 * setup.solve.accuracy:g} % was asked for: the finest mesh "
        "allowed was used. Ask for fewer modes or a larger solve.accuracy."
    )
