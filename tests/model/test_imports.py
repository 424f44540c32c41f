"""The everyday path needs numpy alone."""

import subprocess
import sys


def test_the_core_of_the_model_loads_nothing_heavy() -> None:
    code = "import sys, wedgelab.model.player; print(' '.join(sorted({m.split('.')[0] for m in sys.modules})))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    assert "numpy" in loaded
    assert not loaded & {"pandas", "sklearn", "scipy", "matplotlib", "click", "prompt_toolkit", "sqlite3"}


def test_fitting_and_predicting_loads_nothing_heavy_either() -> None:
    code = (
        "import sys, numpy as np\n"
        "from wedgelab.model.observations import observations\n"
        "from wedgelab.model.player import fit_observations\n"
        "from wedgelab.prediction import ShotKind\n"
        "at = np.array([54.0])\n"
        "f = fit_observations(observations(carry_m=at, loft_deg=at, swing_deg=at))\n"
        "f.predict([ShotKind('', 54.0, 60.0)])\n"
        "print(' '.join(sorted({m.split('.')[0] for m in sys.modules})))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not set(done.stdout.split()) & {"pandas", "sklearn", "scipy", "matplotlib"}
