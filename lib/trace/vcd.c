/* SPDX-License-Identifier: MIT */
#include "trace/vcd.h"

#include <string.h>

enum { CODE_FIRST = '!', CODE_BASE = 94 };

static uint64_t low_bits(unsigned int width)
{
	return width >= TD_VCD_WIDTH_MAX ? UINT64_MAX : (UINT64_C(1) << width) - 1;
}

bool td_vcd_same(struct td_vcd_value a, struct td_vcd_value b, unsigned int width)
{
	return (((a.bits ^ b.bits) | (a.odd ^ b.odd)) & low_bits(width)) == 0;
}

static char digit_of(struct td_vcd_value value, unsigned int bit)
{
	unsigned int one = (unsigned int)(value.bits >> bit) & 1U;
	unsigned int odd = (unsigned int)(value.odd >> bit) & 1U;

	return "01zx"[odd * 2 + one];
}

/* What the reader puts to the left of a digit. */
static char extension_of(char digit)
{
	if (digit == '1')
		return '0';
	return digit;
}

void td_vcd_digits(struct td_vcd_value value, unsigned int width, char out[TD_VCD_WIDTH_MAX + 1])
{
	unsigned int used = width > TD_VCD_WIDTH_MAX ? TD_VCD_WIDTH_MAX : width;

	while (used > 1 && digit_of(value, used - 1) == extension_of(digit_of(value, used - 2)))
		used--;
	for (unsigned int i = 0; i < used; i++)
		out[i] = digit_of(value, used - 1 - i);
	out[used] = '\0';
}

/* Of a text, and not its end. */
static bool add_digit(struct td_vcd_value *value, char digit)
{
	static const char known[] = "01zxZX";
	const char *found = strchr(known, digit);

	if (!found)
		return false;
	size_t kind = (size_t)(found - known);
	if (kind >= 4)
		kind -= 2;
	value->bits = value->bits << 1 | (kind & 1U);
	value->odd = value->odd << 1 | kind >> 1;
	return true;
}

bool td_vcd_parse_digits(const char *digits, unsigned int width, struct td_vcd_value *value)
{
	struct td_vcd_value read = {0};
	size_t length = strlen(digits);

	if (length == 0 || length > width || width > TD_VCD_WIDTH_MAX)
		return false;
	for (size_t i = 0; i < length; i++)
		if (!add_digit(&read, digits[i]))
			return false;
	if (length < width && digits[0] != '0' && digits[0] != '1') {
		uint64_t left = low_bits(width) & ~low_bits((unsigned int)length);

		read.odd |= left;
		if (digits[0] == 'x' || digits[0] == 'X')
			read.bits |= left;
	}
	*value = read;
	return true;
}

void td_vcd_code(uint32_t n, char out[TD_VCD_CODE_MAX])
{
	size_t length = 0;
	uint64_t rest = (uint64_t)n + 1;

	while (rest > 0) {
		rest--;
		out[length++] = (char)(CODE_FIRST + (int)(rest % CODE_BASE));
		rest /= CODE_BASE;
	}
	out[length] = '\0';
}

bool td_vcd_parse_code(const char *code, uint64_t *n)
{
	size_t length = strlen(code);
	uint64_t read = 0;

	if (length == 0 || length >= TD_VCD_CODE_MAX)
		return false;
	for (size_t i = length; i-- > 0;) {
		if (code[i] < CODE_FIRST || code[i] >= CODE_FIRST + CODE_BASE)
			return false;
		read = read * CODE_BASE + (uint64_t)(code[i] - CODE_FIRST) + 1;
	}
	*n = read - 1;
	return true;
}
