"""The stiffest bar for a hole, and what a millimetre of room for chips costs.

Run it with ``python examples/bar_for_a_hole.py`` where stickout is installed.
"""

from stickout.fem.setup.material_table import MATERIALS
from stickout.fem.size.job import Bore, Room, SizeJob
from stickout.fem.size.questions import clearance_cost
from stickout.fem.size.size import size_bars

# Question: a hole of 20 mm, 60 mm deep; the cutter sticks out 2 mm, the chips want 3 mm. Steel or carbide?
job = SizeJob(
    Bore(bore_mm=20, depth_mm=60),
    room=Room(cutter_mm=2, clearance_mm=3, allowance_mm=5),
    materials=[MATERIALS["steel"], MATERIALS["cemented carbide"]],
)
answer = size_bars(job, shown=3)
for bar in answer.solved:
    option = bar.option
    print(f"{option.setup.bar_material.name}, {option.shape}, {option.size_mm:.4g} mm: "
          f"{1e7 * bar.compliance_along:.2f} µm for every 10 N, {bar.note:.0f} Hz")  # fmt: skip

# Answer: the largest round bar is the hole less both gaps, and the metal decides the rest.
carbide, steel = answer.solved[:2]
assert abs(steel.option.size_mm - (20 - 2 - 3)) < 1e-6
assert (carbide.option.setup.bar_material.name, steel.option.shape) == ("cemented carbide", "round")

# Hand formula: carbide has 600 / 210 of the stiffness; the seat, which stays, takes some of that.
gain = steel.compliance_along / carbide.compliance_along
print(f"Carbide springs {gain:.2f} times less; by the moduli alone {600 / 210:.2f}.")
assert 2.2 < gain < 600 / 210
# And beam against solid: both bars within one per cent.
assert all(abs(bar.hand_compliance_along / bar.compliance_along - 1) < 0.01 for bar in answer.solved)

# A millimetre more for chips keeps (14 / 15)^4 of the stiffness on a perfect root, a little more in a seat.
lost = clearance_cost(job)
print(f"A millimetre more room for chips costs {100 * lost:.0f} % of the stiffness; "
      f"by the fourth power {100 * (1 - (14 / 15) ** 4):.0f} %.")  # fmt: skip
assert 0.18 < lost < 1 - (14 / 15) ** 4
