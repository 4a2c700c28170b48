#!/bin/sh
# Fetches every sample source into training/work (ignored by git). Needs apt-get, dpkg and npm. About 310 MB.
set -e
cd "$(dirname "$0")"
mkdir -p work/packages work/sources
cd work/packages
apt-get download hydrogen-drumkits fluid-soundfont-gm timgm6mb-soundfont avldrums.lv2-soundfont
npm pack --silent supersonic-scsynth-samples@0.84.2
for package in *.deb; do dpkg -x "$package" ../sources; done
tar -xzf supersonic-scsynth-samples-0.84.2.tgz -C ../sources
