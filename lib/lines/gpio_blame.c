/* SPDX-License-Identifier: MIT */
/* Why lines could not be requested, in words: which line, who holds it, how to mend it. */
#include <errno.h>
#include <string.h>

#include "lines/gpio_find.h"
#include "lines/gpio_text.h"

static void add_place(struct td_gpio_text *text, const struct td_gpio_chips *chips,
		      const struct td_gpio_wanted *wanted, const struct td_gpio_spot *spot)
{
	td_gpio_text_add(text, "%s (line %u of %s \"%s\")", wanted->use, spot->offset,
			 chips->at[spot->chip].path, td_gpio_chip_label(chips->at[spot->chip].chip));
}

static void begin(struct td_gpio_text *text, const char *file, const struct td_gpio_wanted *wanted)
{
	if (file && *file && text->length == 0)
		td_gpio_text_add(text, "%s:%d: ", file, wanted->place.file_line);
	else if (text->length > 0)
		td_gpio_text_add(text, ", ");
}

/* Adds the lines that somebody holds; returns how many. */
static unsigned add_holders(struct td_gpio_text *text, const struct td_gpio_chips *chips, const char *file,
			    const struct td_gpio_wanted *wanted, const struct td_gpio_spot *spots,
			    unsigned count)
{
	unsigned held = 0;

	for (unsigned i = 0; i < count; i++) {
		struct td_gpio_line_info info;

		if (td_gpio_chip_line(chips->at[spots[i].chip].chip, spots[i].offset, &info) < 0 ||
		    !info.used)
			continue;
		held++;
		begin(text, file, &wanted[i]);
		add_place(text, chips, &wanted[i], &spots[i]);
		if (info.consumer[0])
			td_gpio_text_add(text, " is held by \"%s\"", info.consumer);
		else
			td_gpio_text_add(text, " is held by the kernel or a program without a name");
	}
	return held;
}

static const char *remedy(int error)
{
	switch (-error) {
	case EBUSY: return "end what holds it, or name another line";
	case EACCES:
	case EPERM: return "put this user into the group that owns the chip";
	case ENODEV:
	case ENXIO:
	case ENOENT: return "the chip has gone away: see whether its driver is still loaded";
	case EINVAL: return "the kernel does not allow this line to be used so: name another line";
	case ENOMEM:
	case EMFILE:
	case ENFILE: return "raise the limit of descriptors or memory of this service";
	default: return "see the kernel's log";
	}
}

int td_gpio_blame(const struct td_gpio_chips *chips, const char *file, const struct td_gpio_wanted *wanted,
		  const struct td_gpio_spot *spots, unsigned count, int error, struct td_error *err)
{
	struct td_gpio_text text = {0};
	unsigned held = 0;

	if (error == -EBUSY)
		held = add_holders(&text, chips, file, wanted, spots, count);
	if (held == 0) {
		begin(&text, file, &wanted[0]);
		add_place(&text, chips, &wanted[0], &spots[0]);
		td_gpio_text_add(&text, "%s cannot be taken: %s", count > 1 ? " and its neighbours" : "",
				 strerror(-error));
	}
	td_gpio_text_add(&text, "; %s", remedy(error));
	return td_error_set(err, "%s", text.text);
}
