namespace Hindbeat.Pulses;

/// <summary>
/// How pairs swing over a passage, as the long note's share of the pair: 0.5 straight, 2/3 = 2:1.
/// </summary>
/// <param name="Half">Share of the first of two eighths of a beat.</param>
/// <param name="Quarter">Share of the first of two sixteenths of a half beat.</param>
internal readonly record struct SwingShape(double Half, double Quarter)
{
    public static SwingShape Straight => new(0.5, 0.5);
}
