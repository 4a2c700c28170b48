using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>When a closing hat damps an open one.</summary>
internal static class HatChokes
{
    /// <returns>For each stroke of the plan the moment that chokes it: the next closed or pedal hat after an open one; null for all others.</returns>
    public static AudioTime?[] Of(IReadOnlyList<PlannedStroke> plan)
    {
        AudioTime[] closings = [.. plan.Where(stroke => stroke.Piece is KitPiece.HatClosed or KitPiece.HatPedal).Select(stroke => stroke.Time).Order()];
        var chokes = new AudioTime?[plan.Count];
        for (int i = 0; i < plan.Count; i++)
        {
            if (plan[i].Piece != KitPiece.HatOpen)
                continue;
            int found = Array.BinarySearch(closings, plan[i].Time);
            int after = found < 0 ? ~found : found + 1;
            while (after < closings.Length && closings[after] <= plan[i].Time)
                after++;
            chokes[i] = after < closings.Length ? closings[after] : null;
        }

        return chokes;
    }
}
