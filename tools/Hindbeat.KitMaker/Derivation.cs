namespace Hindbeat.KitMaker;

/// <summary>
/// Pieces that the recorded kit lacks, made from strokes that it has. They are stand-ins and marked as
/// derived in the kit file; the numbers were set by comparing spectra and decay, not measured on a kit.
/// </summary>
internal static class Derivation
{
    private const int Rate = FlacFile.SampleRate;

    /// <summary>Hertz and decay (seconds to 1/e) of the stick lying on head and rim: wood and shell, no wires.</summary>
    private static readonly (double Hertz, double Decay, double Share)[] StickModes =
        [(430, 0.016, 0.5), (1020, 0.012, 1.0), (1730, 0.009, 0.9), (2840, 0.006, 0.6), (4300, 0.004, 0.35)];

    /// <summary>
    /// Cross-stick: the first 5 ms of a snare stroke (the stick's contact, before the wires answer) rings
    /// a handful of short wooden modes. As loud as the snare stroke less 4 dB.
    /// </summary>
    public static double[] CrossStick(short[] snare)
    {
        const double ContactSeconds = 0.005;
        const double LengthSeconds = 0.2;
        int contact = (int)(ContactSeconds * Rate);
        var strike = new double[(int)(LengthSeconds * Rate)];
        for (int i = 0; i < contact; i++)
            strike[i] = snare[i] * (0.5 + (0.5 * Math.Cos(Math.PI * i / contact)));
        var result = new double[strike.Length];
        foreach ((double hertz, double decay, double share) in StickModes)
            AddMode(strike, result, hertz, decay, share);
        double gain = EnergyOf(snare, 0.1) / EnergyOf(result, 0.1) * Math.Pow(10, -4 / 20.0);
        return Array.ConvertAll(result, sample => sample * gain);
    }

    /// <summary>
    /// Pedal hat: two cymbals closing have no stick, so the closed hat's attack is softened over 3 ms and
    /// its top rolled off from 6 kHz; a fifth of the stick stroke's first edge stays.
    /// </summary>
    public static double[] PedalHat(short[] closedHat)
    {
        const double SoftSeconds = 0.003;
        const double RollOffHertz = 6000;
        double keep = Math.Exp(-2 * Math.PI * RollOffHertz / Rate);
        int soft = (int)(SoftSeconds * Rate);
        double state = 0;
        var result = new double[closedHat.Length];
        for (int i = 0; i < result.Length; i++)
        {
            state = ((1 - keep) * closedHat[i]) + (keep * state);
            double rise = i >= soft ? 1 : 0.5 - (0.5 * Math.Cos(Math.PI * i / soft));
            result[i] = state * (0.2 + (0.8 * rise));
        }

        return result;
    }

    /// <summary>Splash: the smaller crash played 1.6 times as fast (so smaller still), dying away within half a second.</summary>
    public static double[] Splash(short[] crash)
    {
        const double Faster = 1.6;
        const double Decay = 0.16;
        const double LengthSeconds = 0.75;
        return [.. Speed.Up(crash, Faster).Take((int)(LengthSeconds * Rate)).Select((sample, i) => sample * Math.Exp(-i / (Decay * Rate)))];
    }

    private static void AddMode(double[] strike, double[] result, double hertz, double decay, double share)
    {
        double radius = Math.Exp(-1 / (decay * Rate));
        double turn = 2 * radius * Math.Cos(2 * Math.PI * hertz / Rate);
        double y1 = 0;
        double y2 = 0;
        for (int i = 0; i < result.Length; i++)
        {
            // Zeros at 0 and half the rate keep the resonance from passing the kick of the strike's own mean.
            double drive = strike[i] - (i >= 2 ? strike[i - 2] : 0);
            double y = ((1 - radius) * drive) + (turn * y1) - (radius * radius * y2);
            result[i] += share * y;
            (y1, y2) = (y, y1);
        }
    }

    private static double EnergyOf(short[] samples, double seconds) => EnergyOf(Array.ConvertAll(samples, sample => (double)sample), seconds);

    private static double EnergyOf(double[] samples, double seconds) =>
        Math.Sqrt(samples.Take((int)(seconds * Rate)).Sum(sample => sample * sample));
}
