"""How much 16 mm of overhang are worth on a 16 mm steel bar.

Run it with ``python examples/shorter_bar.py`` where stickout is installed.
"""

from stickout.fem import Bar, RigidGrip, Setup, run_study

# Question: the bar sticks out 80 mm, five times its size. What do four times its size bring?
long, short = (
    run_study(Setup(bar=Bar(overhang_mm=overhang, diameter_mm=16), grip=RigidGrip())) for overhang in (80, 64)
)
softer = long.compliance_along / short.compliance_along  # m/N along the force, here straight down
higher = short.frequency_hz[0] / long.frequency_hz[0]
print(f"80 mm out: {1e6 * 10 * long.compliance_along:.1f} µm for every 10 N, {long.frequency_hz[0]:.0f} Hz")
print(f"64 mm out: {1e6 * 10 * short.compliance_along:.1f} µm for every 10 N, {short.frequency_hz[0]:.0f} Hz")
print(f"The long bar springs {softer:.2f} times as far; the short one sings {higher:.2f} times as high.")

# Hand formula: spring grows with the cube of the overhang, the note falls with its square; shear and the
# thickness of the bar take a little from both, more from the short bar.
print(f"Thin-beam rule: {(80 / 64) ** 3:.2f} times and {(80 / 64) ** 2:.2f} times.")
assert 0.95 * (80 / 64) ** 3 < softer < (80 / 64) ** 3
assert 0.95 * (80 / 64) ** 2 < higher < (80 / 64) ** 2
# The beam with shear and rotary inertia comes closer: the solid agrees within one per cent.
for result in (long, short):
    assert abs(result.frequency_hz[0] / result.hand.frequency_hz - 1) < 0.01
