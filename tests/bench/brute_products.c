/* Counts every product A + B - C and 2A - B on its raster point, one by one: the baseline of a benchmark. */
void count_products(const int *carriers, int many, long long *counts, int offset)
{
    for (int a = 0; a < many; a++)
        for (int b = a; b < many; b++)
            for (int c = 0; c < many; c++)
                if (c != a && c != b)
                    counts[carriers[a] + carriers[b] - carriers[c] + offset]++;
}
