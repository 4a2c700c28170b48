namespace Hindbeat.Pulses;

/// <summary>Reads an array of beat times (seconds of beat 0, 1, ...) between beats; runs on evenly beyond the ends.</summary>
internal static class BeatTimes
{
    public static double At(double[] beats, double place)
    {
        int left = Math.Clamp((int)Math.Floor(place), 0, beats.Length - 2);
        return beats[left] + ((place - left) * (beats[left + 1] - beats[left]));
    }

    public static double Mean(double[] beats) => (beats[^1] - beats[0]) / (beats.Length - 1);
}
