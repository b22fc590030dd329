"""The command line (doors): thin verbs that parse, call the plan or a calculation, and show.

Map
---
- `main`   the parser, the verbs, exit codes: 0 ok, 2 bad input, 3 hold point not met (--strict).
- `show`   tables and progress on a terminal, plain text when piped, JSON when asked.
- `files`  reading input and writing results whole or not at all.
- `verb_*` one file per verb; heavy imports happen inside `run`, so ``--help`` stays quick.
"""
