"""A class in one room: who logs in and how, what each learner's server is given, and what the wall shows.

The hub (JupyterHub) starts a server of their own for everybody. Its configuration is ``binder/hub/hub_config.py``, the
command ``binder/open_class.py``. What only computes lies here in small files that know nothing of the hub; the hub calls
``authenticator`` and ``pages``.
"""
