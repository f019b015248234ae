#!/usr/bin/env bash
# Writes the vectors that the checks are built with, as a header of C: vectors.sh FOLDER > vectors.h
set -euo pipefail
array() { printf 'static const uint8_t %s[] = {%s};\n' "$1" "$(tr -d '\n' <"$2" | sed 's/../0x&,/g')"; }
array constants "$1/machine.hex"
array sound "$1/00-sound.hex"
