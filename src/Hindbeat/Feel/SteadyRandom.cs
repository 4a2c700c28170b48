namespace Hindbeat.Feel;

/// <summary>
/// SplitMix64 (Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014): the
/// same seed gives the same intervals on every machine and runtime.
/// </summary>
internal struct SteadyRandom(ulong seed)
{
    private ulong _state = seed;

    public ulong Next()
    {
        _state += 0x9E3779B97F4A7C15UL;
        ulong z = _state;
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9UL;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBUL;
        return z ^ (z >> 31);
    }

    /// <summary>0 to <paramref name="count"/> − 1, each equally likely (to within 2⁻³²).</summary>
    public int Below(int count) => (int)BigMul(Next() >> 32, (ulong)count);

    private static ulong BigMul(ulong upper, ulong count) => (upper * count) >> 32;
}
