#include "domain/model_expression.h"
#include "support/check.h"

#include <stdio.h>
#include <string.h>

static const char *const names[] = {"V", "R", "d_alpha", "e2"};

static double value_of(const char *text, const double *x)
{
	struct model_expression *m;
	struct err err = {0};
	struct model model;
	double y = 0;

	if (model_expression_new(text, names, 4, &m, &err))
		fail_msg("%s: %s", text, err.message);
	model = model_expression_model(m);
	model.values(model.context, x, 1, &y);
	model_expression_free(m);
	return y;
}

/* Worked out beside. */
static void expressions_have_the_value_that_mathematics_gives_them(void **state)
{
	static const double x[] = {3, 250, -0.5, 2};

	(void)state;
	assert_near(value_of("1000 * V / R", x), 12, 1e-15);
	assert_near(value_of("-V^2", x), -9, 0);    /* the sign after the power */
	assert_near(value_of("2^e2^V", x), 256, 0); /* 2^(2^3) */
	assert_near(value_of("V*(1+d_alpha*e2)", x), 0, 0);
	assert_near(value_of("V - R / e2 - 1.5e1 + .5", x), -136.5, 0);
	assert_near(value_of("sqrt(R*e2*5) + ln(exp(V)) + log10(1e3)", x), 56, 1e-13);
	assert_near(value_of("max(V, R, e2) - min(V, e2) + abs(d_alpha)", x), 248.5, 0);
	assert_near(value_of("sin(pi/6) + cos(0) + atan(1)*4/pi", x), 2.5, 1e-15);
	assert_near(value_of("  V  ", x), 3, 0);
	assert_true(0 != isnan(value_of("sqrt(d_alpha)", x)));
}

static void many_sets_are_worked_out_at_once(void **state)
{
	static const double x[] = {1, 2, 3, 10, 20, 30, 0, 0, 0, 5, 5, 5};
	struct model_expression *m;
	struct err err = {0};
	struct model model;
	double y[3];

	(void)state;
	assert_int_equal(model_expression_new("V*R - e2", names, 4, &m, &err), OK);
	assert_true(model_expression_uses(m, 0) && model_expression_uses(m, 3) && !model_expression_uses(m, 2));
	model = model_expression_model(m);
	model.values(model.context, x, 3, y);
	assert_near(y[0], 5, 0);
	assert_near(y[1], 35, 0);
	assert_near(y[2], 85, 0);
	model_expression_free(m);
}

static void refused(const char *text, const char *sentence)
{
	struct model_expression *m;
	struct err err = {0};
	enum status rc = model_expression_new(text, names, 4, &m, &err);

	if (rc != INVALID || strncmp(err.message, sentence, strlen(sentence)))
		fail_msg("%s: expected \"%s\", got status %d, \"%s\"", text, sentence, (int)rc, err.message);
	assert_null(m);
	assert_string_equal(err.field, "/model");
}

static void faults_are_shown_where_they_are(void **state)
{
	(void)state;
	refused("V * x", "at character 5: x is neither a component nor a function");
	refused("V = 3", "at character 3: = has no meaning here");
	refused("V < R", "at character 3: < has no meaning here");
	refused("V ? R : 1", "at character 3: ? has no meaning here");
	refused("\"V\"", "at character 1: \" has no meaning here");
	refused("V\xc2\xb2", "at character 2: this character has no meaning here");
	refused("V\n", "at character 2: this character has no meaning here");
	refused("(V + R", "1 parenthesis is not closed");
	refused("((V + R", "2 parentheses are not closed");
	refused("V + R)", "at character 6: this parenthesis was never opened");
	refused("1,5 * V", "at character 2: a comma stands between arguments only; the decimal sign is a point");
	refused("(V, R)", "at character 3: a comma");
	refused("max((V, R))", "at character 7: a comma");
	refused("2V", "at character 1: this is no number");
	refused("1.2.3", "at character 1: this is no number");
	refused("1e * V", "at character 1: this is no number");
	refused(". + V", "at character 1: this is no number");
	refused("0x10", "at character 1: this is no number");
	refused("log(V)", "at character 1: write ln or log10 in place of log");
	refused("sqrt + V", "at character 1: after sqrt a parenthesis is needed");
	refused("rint(V)", "at character 1: rint is neither");
	refused("_pi * V", "at character 1: _pi is neither");
	refused("V R", "at character 3: two parts");
	refused("V *", "at character 4: something is missing here");
	refused("", "at character 1: something is missing here");
	refused("sqrt()", "at character ");
	refused("sqrt(V, R)", "at character 10: the function has too many arguments");
	refused("min()", "at character ");
	refused("V(R)", "at character 2: two parts");
}

static void length_and_depth_have_an_end(void **state)
{
	char text[700];

	(void)state;
	memset(text, '(', 60);
	strcpy(text + 60, "V");
	refused(text, "at character 51: more than 50 parentheses are open");
	text[0] = 'V';
	for (int i = 1; i < 600; i += 2) {
		text[i] = '+';
		text[i + 1] = 'V';
	}
	text[601] = '\0';
	refused(text, "the model is longer than 500 characters");
	text[499] = '\0';
	assert_near(value_of(text, (double[]){2, 0, 0, 0}), 500, 0);
}

static void names_are_plain_words(void **state)
{
	(void)state;
	assert_true(model_name_usable("V"));
	assert_true(model_name_usable("d_alpha2"));
	assert_true(model_name_usable("abcdefghijklmnopqrstuvwxyz_01234"));
	assert_false(model_name_usable("abcdefghijklmnopqrstuvwxyz_012345"));
	assert_false(model_name_usable(""));
	assert_false(model_name_usable("2a"));
	assert_false(model_name_usable("_a"));
	assert_false(model_name_usable("a b"));
	assert_false(model_name_usable("sqrt"));
	assert_false(model_name_usable("pi"));
	assert_false(model_name_usable("\xce\xb1"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(expressions_have_the_value_that_mathematics_gives_them),
		cmocka_unit_test(many_sets_are_worked_out_at_once),
		cmocka_unit_test(faults_are_shown_where_they_are),
		cmocka_unit_test(length_and_depth_have_an_end),
		cmocka_unit_test(names_are_plain_words),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
