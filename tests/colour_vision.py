"""Pictures as other eyes see them: three kinds of colour vision, and grey print."""

from __future__ import annotations

import numpy as np

# Machado, Oliveira and Fernandes 2009, severity 1: protan, deutan, tritan, on linear RGB; grey: luminance of ITU-R BT.709
SEEN_AS = {
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
    "grey": [[0.2126, 0.7152, 0.0722]] * 3,
}


def seen_by(kind: str, picture: np.ndarray) -> np.ndarray:
    """Return an RGB picture (rows, cols, 3), 0 to 1, as one kind of eye sees it."""
    return np.clip((picture**2.2) @ np.array(SEEN_AS[kind]).T, 0, 1) ** (1 / 2.2)
