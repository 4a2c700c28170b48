namespace Hindbeat.Listening;

/// <summary>From the network's certainty to a probability that means what it says: of hits at 0.9, nine in ten are right.</summary>
/// <remarks>
/// The comparer's word is a probability as it is: it learned by a proper score. The first network's alone needs lines: logistic regression of right or wrong on the certainty's logit, a line a family (Platt, Probabilistic Outputs for Support
/// Vector Machines, 1999); training/scoring.py fits them on validation takes played by the kits of training through
/// every effect; they travel with the model. docs/decisions/listening-learned.md says what they reach elsewhere.
/// </remarks>
internal static class HitConfidence
{
    /// <summary>The line that leaves a certainty as it is.</summary>
    public static readonly (double Slope, double Shift) AsSaid = (1, 0);

    /// <summary>No network is surer than this: of its surest hits some are wrong.</summary>
    private const double Most = 0.999;

    /// <param name="certainty">The family's onset value, 0 to 1.</param>
    /// <param name="line">Slope and shift of the family; <see cref="AsSaid"/> leaves the certainty as it is.</param>
    public static double Of(double certainty, (double Slope, double Shift) line)
    {
        double c = Math.Clamp(certainty, 1e-4, 1 - 1e-4);
        double logit = (line.Slope * Math.Log(c / (1 - c))) + line.Shift;
        return Math.Min(Most, 1 / (1 + Math.Exp(-logit)));
    }
}
