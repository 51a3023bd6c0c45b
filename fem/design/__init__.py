"""Design: will a change help? Set-ups side by side, judged within what is known of their inputs.

Modules in reading order
------------------------
inputs
    What a set-up takes from tables and habit: bands by key, so that two set-ups share what they share.
reduced
    A held bar in a few dozen unknowns, split into the parts that the inputs scale.
measures
    Note, spring, loss factor and k zeta of one set-up, likely and sampled.
rivals
    The same space spent otherwise: steel, less overhang, flats turned.
verdict
    What may be said of a change.
compare
    ``compare``: set-ups in, a Comparison out.
record
    A comparison as plain data.
absorber, absorber_best
    A mode with an absorber on it: text-book tunings, both signs of the real part, numeric optimum.
absorber_shapes, absorber_tuning, absorber_plan, absorber_band, absorber_record
    Slugs and rings for a bar: what fits, tuned on the bar's receptance, ranked, how sure, as plain data.

Many cases at once?

batches
    Like cases solved together: ``batches_of``, ``solve_batch``.
case_answer, case_cut, case_row
    The answer to one case in plain numbers; one row of a table.
sweep
    ``sweep``: a set-up with some of its parts varied, rows out.

Which bar for this job?

stock, job, job_assumed
    Sizes that are sold, usual gaps; the hole or shoulder, room, holder, materials, cut.
hole
    A bar in a hole: where it lies, how large it may be, what gaps it leaves.
options, hand_bar, size
    Every bar worth a look, its hand formulas, ``size_bars``: ranked, the best ones solved as solids.
size_cut
    Margin and depth limit of a bar's cut, as it is and stiffer or softer.
asked, questions
    What the user asks next: ``design_questions``.
gains, overhangs, grip_length, drilled
    Other metals and shapes; how far out; how long a grip; where to drill.
size_record, questions_record
    Ranking and answers as plain data.
"""
