# SPDX-License-Identifier: MIT
# What a package holds, and where it goes. There is no configuration in it: what could move anything is the owner's to
# write.

prefix ?= /usr
bindir ?= $(prefix)/bin
datadir ?= $(prefix)/share
mandir ?= $(datadir)/man
docdir ?= $(datadir)/doc/tripdog
systemddir ?= $(prefix)/lib/systemd/system
sysusersdir ?= $(prefix)/lib/sysusers.d
tmpfilesdir ?= $(prefix)/lib/tmpfiles.d
udevdir ?= $(prefix)/lib/udev/rules.d
completiondir ?= $(datadir)/bash-completion/completions

INSTALL ?= install
PAGES = $(wildcard docs/*.[1-8]) $(BUILT_PAGES)
page_section = $(subst .,,$(suffix $(1)))

.PHONY: install
install: all ## programs, manual pages, units, examples: DESTDIR=, prefix=/usr
	$(INSTALL) -d $(addprefix $(DESTDIR),$(bindir) $(systemddir) $(sysusersdir) $(tmpfilesdir) $(udevdir) \
		$(completiondir) $(docdir)/examples)
	$(INSTALL) -m 755 $(PROGRAMS) $(DESTDIR)$(bindir)
	for section in $(sort $(foreach page,$(PAGES),$(call page_section,$(page)))); do \
		$(INSTALL) -d $(DESTDIR)$(mandir)/man$$section && \
		$(INSTALL) -m 644 $$(printf '%s\n' $(PAGES) | grep "\.$$section$$") $(DESTDIR)$(mandir)/man$$section || exit 1; \
	done
	sed 's|/usr/bin/|$(bindir)/|' systemd/tripdogd.service >$(DESTDIR)$(systemddir)/tripdogd.service
	chmod 644 $(DESTDIR)$(systemddir)/tripdogd.service
	$(INSTALL) -m 644 systemd/tripdog.sysusers $(DESTDIR)$(sysusersdir)/tripdog.conf
	$(INSTALL) -m 644 systemd/tripdog.tmpfiles $(DESTDIR)$(tmpfilesdir)/tripdog.conf
	$(INSTALL) -m 644 systemd/99-tripdog.rules $(DESTDIR)$(udevdir)/99-tripdog.rules
	$(B)/tripdog --completion >$(DESTDIR)$(completiondir)/tripdog
	chmod 644 $(DESTDIR)$(completiondir)/tripdog
	# the documents are beside it there
	sed 's|](docs/|](|g' README.md >$(DESTDIR)$(docdir)/README.md
	chmod 644 $(DESTDIR)$(docdir)/README.md
	$(INSTALL) -m 644 LICENSE $(wildcard docs/*.md docs/*.svg docs/*.cir) $(DESTDIR)$(docdir)
	$(INSTALL) -m 644 $(filter-out %.sh %.py,$(wildcard docs/examples/*)) $(DESTDIR)$(docdir)/examples
	$(INSTALL) -m 755 $(filter %.sh %.py,$(wildcard docs/examples/*)) $(DESTDIR)$(docdir)/examples
