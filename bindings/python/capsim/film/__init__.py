# SPDX-License-Identifier: BSD-3-Clause
"""Films of runs: the pictures one after another (`animation`), the web page that plays them (`player`), and
drawings in few colours (`indexed_colours`)."""
