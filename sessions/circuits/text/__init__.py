"""A circuit as a coach writes it on a whiteboard: one line a station, in plain words, in any order. PURE.

`whiteboard.lark` finds the phrases of a line, `names` the movements, `reading` what they mean together; `writing` is
the way back. None of it knows Django: it is given the gym's movements as plain data and gives a circuit document.
"""
