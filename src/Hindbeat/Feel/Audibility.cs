namespace Hindbeat.Feel;

/// <summary>
/// What listeners could tell in published studies. A figure below a threshold is "below what listeners in
/// that study could tell", never "inaudible": musicians, headphones and repeats all lower it.
/// </summary>
public static class Audibility
{
    /// <summary>Swing displacement inside a groove, lower end of 24 to 26 ms. Câmara et al. 2025, PsyArXiv jsg94 (read in its abstract).</summary>
    public const double SwingInGrooveMs = 24;

    /// <summary>Asynchrony of kick, snare and hat inside a groove, lower end of 19 to 24 ms. The same study.</summary>
    public const double AsynchronyInGrooveMs = 19;

    /// <summary>A stroke that comes early inside a groove. The same study.</summary>
    public const double EarlyInGrooveMs = 23;

    /// <summary>A stroke that comes late inside a groove. The same study.</summary>
    public const double LateInGrooveMs = 28;

    /// <summary>
    /// One displaced tone in an even sequence, ms: 6 ms below 240 ms between tones, 2.5 % of the interval from
    /// 240 to 1000 ms. Friberg and Sundberg 1995, JASA 98(5):2524–2531. Null outside the range they tested.
    /// </summary>
    public static double? DisplacedToneMs(double intervalMs) => intervalMs switch
    {
        < 100 or > 1000 or double.NaN => null,
        < 240 => 6.0,
        _ => 0.025 * intervalMs,
    };

    /// <summary>Best tempo change heard over several intervals: 1.5 % (300 to 800 ms). Drake and Botte 1993 (read in its abstract).</summary>
    public const double TempoChangePercent = 1.5;
}
