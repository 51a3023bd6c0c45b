"""A set-up as plain data: parts, checks, tables and file. Knows no force and no mechanics.

Reading order: ``parts`` (Setup and what it is made of), ``materials`` and ``material_table``,
``work_materials``, ``checks`` over ``check_*`` (every fault by key), then the TOML file: ``keys`` (what may
be written), ``reading`` and ``values``, ``building``, ``file`` (read_setup), ``overrides`` (changes for one
run), ``writing`` and ``toml_text``.
"""
