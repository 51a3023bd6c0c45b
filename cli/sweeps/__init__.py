"""Many cases of one set-up: the plan, the journal, the engine, the table, the words.

Modules in reading order
------------------------
values
    ``--vary key=values``: lists and ranges, counted before they are made.
plan
    How they combine, the cases one by one, and what tells two plans apart.
journal
    Every finished case on the disk, safe against being killed.
work
    The cases of a batch as rows: what a worker does, here or elsewhere.
engine
    Batches in this process.
cluster
    Batches on Dask workers, on this machine or on others.
table
    CSV and Parquet.
limits
    Named limits and where they are crossed.
answer
    What a person reads.
"""
