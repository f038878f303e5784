"""A program that is killed at its n-th operation on a file: everything before it is done, nothing after it."""

import itertools
import os
import tempfile

import pytest

_OPERATIONS = ((os, ("replace", "rename", "unlink", "fsync", "chmod", "link", "mkdir")), (tempfile, ("mkstemp",)))


class KilledError(BaseException):
    """The end of the program: no handler of errors may clear up after it."""


def killed_at_every_step(prepare, work):
    """Yield what `prepare` returned, once for each operation on files, with `work` on it ended right before that one.

    The last one yielded is that on which the work was done whole.
    """
    for number in itertools.count():
        place = prepare(number)
        try:
            with pytest.MonkeyPatch.context() as patch:
                _end_at(patch, number)
                work(place)
        except KilledError:
            yield place
        else:
            yield place
            return


def _end_at(patch, number):
    left = itertools.count(number, -1)

    def ending(own):
        def operation(*values, **more):
            # Once dead it stays dead: what an exit handler would do is not done either.
            if next(left) <= 0:
                raise KilledError
            return own(*values, **more)

        return operation

    for module, names in _OPERATIONS:
        for name in names:
            patch.setattr(module, name, ending(getattr(module, name)))
