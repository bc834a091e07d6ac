/* Entry point: finds the verb and hands over to its cmd_NAME.c. */
#include <stdio.h>

int main(void)
{
    return fputs("crosshatch\n", stdout) < 0 ? 4 : 0;
}
