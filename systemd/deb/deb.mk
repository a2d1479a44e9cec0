# SPDX-License-Identifier: MIT
# The Debian package: a copy of the tree with this directory as debian/, built as Debian builds.

.PHONY: deb
deb: ## the Debian package, in build/deb (packages: .ci/packages deb)
	@systemd/deb/build $(VERSION)

.PHONY: check-deb
check-deb: ## the Debian package built, judged by lintian, installed and removed in a tree of its own (root)
	@mkdir -p build; systemd/deb/build $(VERSION) >build/deb.log 2>&1 || { tail -n 40 build/deb.log; exit 1; }
	@tests/deb/run build/deb
