"""Store (floor 5): plain files of the shop that outlive a job.

Map
---
- `files`  files written whole or not at all, one writer at a time.
- `shelf`  the shop's shelf: lots, moves, what stands where; one TOML or JSON file.
"""
