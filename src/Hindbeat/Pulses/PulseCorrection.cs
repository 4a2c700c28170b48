using System.Text.Json.Serialization;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>
/// One thing that a person has corrected in a pulse. Plain data, so that a study keeps the list and the pulse of a new listening
/// is corrected the same way, in the same order.
/// </summary>
[JsonPolymorphic(TypeDiscriminatorPropertyName = "kind")]
[JsonDerivedType(typeof(TempoStated), "tempo")]
[JsonDerivedType(typeof(TempoHalved), "halve")]
[JsonDerivedType(typeof(TempoDoubled), "double")]
[JsonDerivedType(typeof(BarOneSet), "bar-one")]
[JsonDerivedType(typeof(MeterStated), "meter")]
[JsonDerivedType(typeof(BeatMoved), "beat")]
[JsonDerivedType(typeof(ShapeStated), "shape")]
public abstract record PulseCorrection;

/// <summary>The counted beat is near this tempo: the readings are compared again, the strokes stay.</summary>
public sealed record TempoStated(Bpm Tempo) : PulseCorrection;

/// <summary>Every second beat is counted; beat 1 of bar 1 stays where it is.</summary>
public sealed record TempoHalved : PulseCorrection;

/// <summary>A beat more between every two; beat 1 of bar 1 stays where it is.</summary>
public sealed record TempoDoubled : PulseCorrection;

/// <summary>Beat 1 of bar 1 is the beat, or the middle between two, nearest to this moment.</summary>
public sealed record BarOneSet(AudioTime Time) : PulseCorrection;

/// <summary>So many of the same beats make a bar; beat 1 of bar 1 stays where it is.</summary>
public sealed record MeterStated(Meter Meter) : PulseCorrection;

/// <summary>One beat falls at another moment; the other beats stay.</summary>
/// <param name="Beat">Beat in the bar, from 1.</param>
public sealed record BeatMoved(int Bar, int Beat, AudioTime Time) : PulseCorrection;

/// <summary>The tempo takes this shape: the curve is fitted again through the strokes where they are written.</summary>
public sealed record ShapeStated(TempoShape Shape) : PulseCorrection;
