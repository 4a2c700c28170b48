using Hindbeat.Performances;

namespace Hindbeat.Studies;

/// <summary>A doubt out of a stored study whose kind this version does not know any more: its sentence is kept.</summary>
/// <param name="Kind">Name of the type that raised it.</param>
public sealed record KeptDoubt(string Kind, string Sentence) : Doubt
{
    public override string Text => Sentence;
}
