"""Whether a file lies on another machine, where SQLite's locks cannot be relied on."""

from __future__ import annotations

from pathlib import Path, PurePath

NETWORK_FILE_SYSTEMS = frozenset(
    {
        "9p",
        "afs",
        "ceph",
        "cifs",
        "davfs",
        "fuse.davfs2",
        "fuse.glusterfs",
        "fuse.sshfs",
        "glusterfs",
        "lustre",
        "ncpfs",
        "nfs",
        "nfs4",
        "smb3",
        "smbfs",
    }
)
"""Types in the kernel's table of mounts that are served by another machine. SQLite's own
documents ("How To Corrupt An SQLite Database File", from memory) warn of their locks."""

MOUNTS = Path("/proc/mounts")


def network_kind(path: Path, mounts: str | None = None) -> str | None:
    """Say over which kind of network a path is reached, None when it is on a local disk.

    Parameters
    ----------
    path : Path
        A file that need not exist yet.
    mounts : str, optional
        The table of mounts, for tests; read from ``/proc/mounts`` where there is
        one. On Windows a mapped drive resolves to its share.

    Returns
    -------
    str or None
        ``a network share``, or the type of the file system.
    """
    if is_share(path) or is_share(path.resolve()):
        return "a network share"
    if mounts is None:
        mounts = MOUNTS.read_text(encoding="utf-8", errors="replace") if MOUNTS.exists() else ""
    best, kind = -1, ""
    for line in mounts.splitlines():
        fields = line.split(" ")
        if len(fields) < 3:
            continue
        # The kernel writes a space in a path as \040.
        folder = Path(fields[1].replace("\\040", " ").replace("\\011", "\t"))
        if path.resolve().is_relative_to(folder) and len(folder.parts) > best:
            best, kind = len(folder.parts), fields[2]
    return kind if kind in NETWORK_FILE_SYSTEMS else None


def is_share(path: PurePath) -> bool:
    """Say whether a path begins with ``//server/share``, however its slashes lean."""
    text = str(path).replace("\\", "/")
    if text.startswith("//?/"):
        return text[4:8].upper() == "UNC/"
    return text.startswith("//")
