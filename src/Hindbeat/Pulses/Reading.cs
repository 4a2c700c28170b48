using Hindbeat.Performances;

namespace Hindbeat.Pulses;

/// <summary>One way to count a passage: a base path's beats taken so many at a time, in a meter, from a downbeat.</summary>
/// <param name="Path">Which base path.</param>
/// <param name="Beat">Length of the counted beat in base beats: 1/2, 1, 3/2 ...</param>
/// <param name="Downbeat">A downbeat's place in base beats.</param>
/// <param name="Bpm">Mean tempo of the counted beat.</param>
/// <param name="Score">ln of its probability, up to a constant shared by all readings of the passage.</param>
/// <param name="Explained">ln of how well repetition and timing alone explain the strokes; comparable across tempi and meters.</param>
/// <param name="Evidence">What the score is made of; see <see cref="ReadingEvidence"/>.</param>
internal sealed record Reading(BasePath Path, double Beat, double Downbeat, Meter Meter, double Bpm, double Score, double Explained, double[] Evidence);

/// <summary>A smooth path of evenly spaced beats, at any level of the meter, and each stroke's place on it.</summary>
/// <param name="Beats">Seconds.</param>
/// <param name="Places">Each stroke's place in beats from the first.</param>
/// <param name="BeatError">Standard error of an even path's beat, seconds; not a number where the tempo may change.</param>
internal sealed record BasePath(double[] Beats, double[] Places, double BeatError = double.NaN)
{
    public double MeanBeat => (Beats[^1] - Beats[0]) / (Beats.Length - 1);

    /// <summary>Place of a moment in base beats; runs on evenly beyond the ends.</summary>
    public double PlaceAt(double time) => PlaceAt(Beats, time);

    /// <summary>When a place falls; runs on evenly beyond the ends.</summary>
    public double TimeAt(double place)
    {
        int left = Math.Clamp((int)Math.Floor(place), 0, Beats.Length - 2);
        return Beats[left] + ((place - left) * (Beats[left + 1] - Beats[left]));
    }

    public static double PlaceAt(double[] beats, double time)
    {
        int left = Math.Clamp(Periodicity.LowerBound(beats, time) - 1, 0, beats.Length - 2);
        return left + ((time - beats[left]) / (beats[left + 1] - beats[left]));
    }
}
