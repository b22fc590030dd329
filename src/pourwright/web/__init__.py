"""The app (door): FastAPI over the store, with a strict gate and worker processes.

Map
---
- `app`       `create_app(settings)`.  `settings` `Settings`.  `server` runs it.
- `guard`     host, origin, size, session, headers.  `session`, `access` cookie, token, pass phrase.
- `deps`      what pages use.  `answers` JSON and errors.
- `api_jobs`, `api_plan`, `api_tasks`, `api_files`, `api_calc`, `api_share`: the JSON API.
- `workers`   processes and their supervisor.  `work` what they do.  `ribbons` ribbon data.
- `network`   addresses, QR code, certificate.  `demo` the demo jobs.
- `pages`, `templates`, `static`, `messages`: what is seen.
"""
