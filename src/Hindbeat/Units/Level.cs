namespace Hindbeat.Units;

/// <summary>
/// A loudness in dBFS: 0 is digital full scale, quieter is more negative. Silence is
/// <see cref="Silence"/> (−120 dBFS), never minus infinity, so that levels can be averaged.
/// </summary>
public readonly record struct Level : IComparable<Level>
{
    private Level(double dbfs) => Dbfs = dbfs;

    /// <summary>Decibels relative to full scale.</summary>
    public double Dbfs { get; }

    public static Level Silence => new(-120.0);

    /// <exception cref="ArgumentOutOfRangeException">The value is NaN or infinite.</exception>
    public static Level FromDbfs(double dbfs) =>
        double.IsFinite(dbfs)
            ? new Level(Math.Max(dbfs, -120.0))
            : throw new ArgumentOutOfRangeException(nameof(dbfs), dbfs, "A level must be a finite number of decibels.");

    /// <summary>From a linear amplitude, 1.0 = full scale: 20·log10(a).</summary>
    public static Level FromAmplitude(double amplitude) =>
        amplitude <= 1e-6 ? Silence : FromDbfs(20.0 * Math.Log10(amplitude));

    /// <summary>Linear amplitude, 1.0 = full scale.</summary>
    public double Amplitude => Math.Pow(10.0, Dbfs / 20.0);

    public static bool operator <(Level a, Level b) => a.Dbfs < b.Dbfs;
    public static bool operator >(Level a, Level b) => a.Dbfs > b.Dbfs;
    public static bool operator <=(Level a, Level b) => a.Dbfs <= b.Dbfs;
    public static bool operator >=(Level a, Level b) => a.Dbfs >= b.Dbfs;

    public int CompareTo(Level other) => Dbfs.CompareTo(other.Dbfs);

    public override string ToString() => FormattableString.Invariant($"{Dbfs:0.0} dBFS");
}
