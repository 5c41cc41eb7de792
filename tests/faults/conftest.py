from tests.emulated.fixtures import emulated_tree

__all__ = ["emulated_tree"]
