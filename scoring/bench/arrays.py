"""Operations on numpy arrays: many trajectories at once. The only place here that loads numpy."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np


class Arrays:
    """Operations on numpy arrays of one shape; plain numbers are broadcast."""

    exp = staticmethod(np.exp)
    expm1 = staticmethod(np.expm1)
    log = staticmethod(np.log)
    where = staticmethod(np.where)
    minimum = staticmethod(np.minimum)
    maximum = staticmethod(np.maximum)

    @staticmethod
    def pick(table: Mapping[str, float], key: Any) -> Any:
        """Return the entry of `table` for one name, or an array of entries for many.

        Raises
        ------
        KeyError
            A name is not in the table.
        """
        if isinstance(key, str):
            return table[key]
        names = np.asarray(key)
        found = np.full(names.shape, np.nan)
        for name, value in table.items():
            found[names == name] = value
        if np.isnan(found).any():
            raise KeyError(str(names[np.isnan(found)][0]))
        return found


ARRAYS = Arrays()
"""Pass this to `scoring.bench.steps.run_step` to play many trajectories at once."""
