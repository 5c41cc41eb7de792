"""The computations stay light: nothing but the standard library comes with them."""

import subprocess
import sys

import service.brewing

HEAVY = ("numpy", "scipy", "pydantic", "fastapi", "sqlalchemy", "asyncio", "CoolProp", "iapws")


def test_importing_every_computation_loads_no_heavy_package() -> None:
    modules = (
        "import sys, importlib, pkgutil, service.brewing as room\n"
        "for found in pkgutil.iter_modules(room.__path__):\n"
        "    importlib.import_module(f'service.brewing.{found.name}')\n"
        "print(' '.join(sorted({name.partition('.')[0] for name in sys.modules})))\n"
    )

    run = subprocess.run([sys.executable, "-c", modules], capture_output=True, text=True, check=True)

    loaded = set(run.stdout.split())
    assert "service" in loaded
    assert not loaded & set(HEAVY)
    assert service.brewing.__doc__
