"""Papers (shelves): printed documents made with typst as tagged PDF, all data passed as JSON.

Map
---
- `typeset`   compiling a template with its data, fonts from the typesetter itself.
- `runsheet`  the run sheet of a planned job.
- `templates` the typst templates and the house style.
"""
