using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Units;

namespace Hindbeat.Tests.Takes;

/// <summary>The demo's invented passage, and takes of it that are changed in known ways, played round and round.</summary>
internal static class ChangedTake
{
    public static Performance Passage { get; } = InventedPassage.Make(11).Performance;

    public static FeelReport Feel { get; } = FeelAnalysis.Measure(Passage);

    /// <summary>Strokes of a take: the passage drawn anew with its own looseness, one draw a round.</summary>
    /// <param name="slower">Length of the take ÷ length of the passage.</param>
    /// <param name="startMs">When the take's first bar starts on its own clock.</param>
    public static List<Hit> Play(int rounds, ulong seed, Dials? dials = null, double slower = 1, double startMs = 900)
    {
        var hits = new List<Hit>();
        Pulse pulse = Passage.Pulse;
        double first = pulse.TimeAt(0.0).TotalSeconds, last = pulse.Beats[^1].Time.TotalSeconds;
        double length = (last - first) * pulse.Beats.Count / (pulse.Beats.Count - 1);
        for (int round = 0; round < rounds; round++)
        {
            IReadOnlyList<PlannedStroke> plan = RebuildPlan.Make(Passage, Feel, (dials ?? Dials.AsPlayed) with { FreshLooseness = seed + (ulong)round });
            for (int i = 0; i < plan.Count; i++)
            {
                double time = (startMs / 1000) + (slower * (plan[i].Time.TotalSeconds - first + (round * length)));
                hits.Add(Passage.Hits[i] with { Time = AudioTime.FromSeconds(time), Position = null });
            }
        }

        return hits;
    }
}
