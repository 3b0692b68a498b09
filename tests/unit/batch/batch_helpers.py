"""Work that goes wrong in every way."""

import os
import time


class Clumsy:
    """Work whose jobs say what shall happen."""

    def begin(self, stack):
        """Prepare nothing."""

    def __call__(self, job):
        """Do as the job says."""
        if job == "die":
            os._exit(7)
        if job == "sleep":
            time.sleep(60.0)
        return f"{job} done"


class Stillborn(Clumsy):
    """Work that cannot begin."""

    def begin(self, stack):
        """End at once."""
        os._exit(3)
