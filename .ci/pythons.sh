# Sourced by the scripts here: finds Pythons of a version, on PATH or among pyenv's.

# Print the path of a Python of version $1, such as 3.12, that runs and can make an environment.
python_of() {
  local candidate
  for candidate in "$(command -v "python$1" || true)" "$HOME/.pyenv/versions/$1".*/bin/"python$1"; do
    # A shim of pyenv is on PATH for versions that are not switched on, and does not run.
    if [ -x "$candidate" ] && "$candidate" -c \
      "import ensurepip, sys, venv; sys.exit('%d.%d' % sys.version_info[:2] != '$1')" 2>/dev/null
    then
      printf '%s\n' "$candidate"
      return
    fi
  done
  return 1
}
