namespace Hindbeat.Units;

/// <summary>
/// A small random generator with the same numbers on every platform and runtime: SplitMix64 (Steele, Lea, Flood,
/// "Fast splittable pseudorandom number generators", OOPSLA 2014). The seed is the caller's.
/// </summary>
internal struct SplitMix64(ulong seed)
{
    private ulong _state = seed;

    public ulong Next()
    {
        _state += 0x9E3779B97F4A7C15;
        ulong z = _state;
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EB;
        return z ^ (z >> 31);
    }

    /// <summary>Uniform in [0, 1), 53 bits.</summary>
    public double Uniform() => (Next() >> 11) * (1.0 / (1UL << 53));

    /// <summary>0 to <paramref name="count"/> − 1, each equally likely (to within 2⁻³²).</summary>
    public int Below(int count) => (int)(((Next() >> 32) * (ulong)count) >> 32);

    /// <summary>
    /// Mean 0, standard deviation 1, never beyond ±6: twelve uniforms added. Not Box–Muller, because
    /// logarithm and cosine differ in the last bit between platforms and sums do not.
    /// </summary>
    public double Gaussian()
    {
        double sum = -6;
        for (int i = 0; i < 12; i++)
            sum += Uniform();
        return sum;
    }
}
