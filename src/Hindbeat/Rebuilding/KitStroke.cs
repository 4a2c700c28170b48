namespace Hindbeat.Rebuilding;

/// <summary>What sounds for one planned stroke.</summary>
/// <param name="Gain">Linear factor on the sample.</param>
public readonly record struct KitStroke(KitSample Sample, float Gain);
